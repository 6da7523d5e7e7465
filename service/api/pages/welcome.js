// Posts what stands in the box and shows the answer as text, never as markup.
"use strict";

const PATH = "/v1/carbonation/set-points";
const at = (id) => document.getElementById(id);

/** Marks that turn the direction of writing are shown by their number, so that a name turns nothing but itself. */
const TURNING = /[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;
const still = (text) => text.replace(TURNING, (mark) => `\\u${mark.charCodeAt(0).toString(16).padStart(4, "0")}`);

function element(name, text, className) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = still(text);
  if (className) made.className = className;
  return made;
}

function list(items, write) {
  const made = element("ul");
  for (const item of items) made.append(write(item));
  return made;
}

const shown = (number) => String(Number(number.toPrecision(3)));

function figures(points) {
  const table = element("table", undefined, "figures");
  const head = table.createTHead().insertRow();
  for (const title of ["At", "Gauge pressure", "Nine times in ten"]) {
    const cell = element("th", title);
    cell.scope = "col";
    head.append(cell);
  }
  const body = table.createTBody();
  for (const { temperature, gauge_pressure: gauge, problem } of points) {
    const row = body.insertRow();
    const place = element("th", `${shown(temperature.value)} ${temperature.unit === "c" ? "°C" : "°F"}`);
    place.scope = "row";
    row.append(place);
    if (gauge) {
      row.append(element("td", `${shown(gauge.typical)} ${gauge.unit}`, "typical"));
      row.append(element("td", `${shown(gauge.low)} to ${shown(gauge.high)}`));
    } else {
      const why = element("td", problem?.detail ?? "refused", "refused");
      why.colSpan = 2;
      row.append(why);
    }
  }
  return table;
}

function details(title, ...inside) {
  const made = element("details");
  made.append(element("summary", title), ...inside);
  return made;
}

function answered(answer) {
  const worst = (caution) => ["danger", "warning", "info"].indexOf(caution.severity);
  return [
    figures(answer.points),
    element("h3", "Mind"),
    list(answer.cautions.toSorted((a, b) => worst(a) - worst(b)), (c) => element("li", `${c.severity === "danger" ? "Danger. " : ""}${c.text}`, c.severity)),
    details(
      `${answer.assumptions.length} assumptions`,
      list(answer.assumptions, (a) => element("li", `${a.name}: ${a.value} (${a.basis})`)),
    ),
  ];
}

function refused(problem) {
  const found = [element("h3", problem.title, "refused"), element("p", problem.detail)];
  if (problem.errors.length) {
    found.push(list(problem.errors, (e) => element("li", `${e.pointer || "the request"}: ${e.text}`)));
  }
  for (const near of problem.nearest ?? []) {
    found.push(element("p", `Nearest that works: ${near.pointer} = ${JSON.stringify(near.value)}`));
  }
  if (problem.nearest?.length) {
    const offer = element("button", "Put it in and run", "offer");
    offer.type = "button";
    offer.addEventListener("click", () => {
      const request = JSON.parse(at("request").value);
      for (const { pointer, value } of problem.nearest) put(request, pointer, value);
      at("request").value = JSON.stringify(request, null, 2);
      at("run").focus();
      run();
    });
    found.push(offer);
  }
  return found;
}

/** Sets the node at a JSON Pointer (RFC 6901); objects on the way that lack are made. */
function put(document, pointer, value) {
  const way = pointer.split("/").slice(1).map((token) => token.replaceAll("~1", "/").replaceAll("~0", "~"));
  const last = way.pop();
  way.reduce((node, token) => (node[token] ??= {}), document)[last] = value;
}

async function run() {
  const headers = { "Content-Type": "application/json" };
  const key = at("key")?.value;
  if (key) headers.Authorization = `Bearer ${key}`;
  at("run").disabled = true;
  at("status").textContent = "Asking…";
  try {
    const response = await fetch(PATH, { method: "POST", headers, body: at("request").value });
    const answer = await response.json();
    const whole = element("pre", JSON.stringify(answer, null, 2));
    whole.tabIndex = 0;
    at("answer").replaceChildren(...(response.ok ? answered(answer) : refused(answer)), details("All of it, as JSON", whole));
    at("status").textContent = response.ok ? "Answered." : `Refused with status ${response.status}.`;
  } catch (error) {
    at("answer").replaceChildren(element("p", `No answer could be read: ${error.message}`));
    at("status").textContent = "No answer.";
  }
  at("answer").hidden = false;
  at("run").disabled = false;
}

at("here").textContent = location.origin;
at("run").addEventListener("click", run);
