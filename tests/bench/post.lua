-- wrk -s post.lua URL -- FILE: posts FILE as JSON and closes on one line of numbers.
function init(args)
  local file = assert(io.open(args[1], "rb"))
  wrk.method = "POST"
  wrk.body = file:read("*a")
  wrk.headers["Content-Type"] = "application/json"
  file:close()
end

function done(summary, latency)
  local errors = summary.errors
  local failed = errors.connect + errors.read + errors.write + errors.status + errors.timeout
  local rate = summary.requests / summary.duration * 1e6
  io.write(string.format("%.1f %.3f %.3f %d\n", rate, latency:percentile(50) / 1e3, latency:percentile(99) / 1e3, failed))
end
