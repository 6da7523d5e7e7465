-- wrk -s post.lua URL -- FILE PAUSE: posts FILE as JSON or as the table that it is, each connection after a random pause of PAUSE ms on average,
-- and closes on one line of numbers.
function init(args)
  local file = assert(io.open(args[1], "rb"))
  wrk.method = "POST"
  wrk.body = file:read("*a")
  wrk.headers["Content-Type"] = args[1]:match("%.csv$") and "text/csv" or "application/json"
  file:close()
  local pause = tonumber(args[2])
  if pause > 0 then
    math.randomseed(1)
    delay = function() return math.floor(-pause * math.log(1 - math.random()) + 0.5) end -- as callers that know nothing of each other
  end
end

function done(summary, latency)
  local errors = summary.errors
  local failed = errors.connect + errors.read + errors.write + errors.status + errors.timeout
  local rate = summary.requests / summary.duration * 1e6
  io.write(string.format("%.1f %.3f %.3f %d\n", rate, latency:percentile(50) / 1e3, latency:percentile(99) / 1e3, failed))
end
