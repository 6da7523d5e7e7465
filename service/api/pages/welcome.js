// Posts what stands in the box and shows the answer as text, never as markup.
"use strict";

const PATH = "/v1/carbonation/set-points";
const at = (id) => document.getElementById(id);

/** The sentences of the page in its language, and one of them with its {names} filled in. */
const WORDS = JSON.parse(at("words").textContent);
const say = (name, values = {}) => WORDS[name].replace(/\{(\w+)\}/g, (_, key) => values[key]);

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
  for (const title of [say("at"), say("gauge"), say("band")]) {
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
      row.append(element("td", say("range", { low: shown(gauge.low), high: shown(gauge.high) })));
    } else {
      const why = element("td", problem?.detail ?? say("refused"), "refused");
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
    element("h3", say("mind")),
    list(answer.cautions.toSorted((a, b) => worst(a) - worst(b)), caution),
    details(say("assumptions", { count: answer.assumptions.length }), list(answer.assumptions, (a) => element("li", say("assumption", a)))),
  ];
}

function caution({ severity, text }) {
  return element("li", severity === "danger" ? say("danger", { text }) : text, severity);
}

/** Keeps of a text the sentences that were not told yet: several faults may end in the same one. */
function untold(told, text) {
  return text.split(/(?<=[.!?]) /).filter((sentence) => !told.has(sentence) && told.add(sentence)).join(" ");
}

/** What is wrong, each sentence once: the detail of a problem that names its faults would say them again. */
function refused(problem) {
  const told = new Set();
  const fault = (e) => element("li", say("fault", { place: e.pointer || say("whole_request"), text: untold(told, e.text) }));
  const faults = problem.errors.length ? list(problem.errors, fault) : element("p", problem.detail);
  const nearest = problem.nearest ?? [];
  const text = nearest.map((n) => say("nearest", { pointer: n.pointer, value: JSON.stringify(n.value) })).join(" ");
  const offers = problem.offers ?? (nearest.length ? [{ text, nearest }] : []);
  return [element("h3", problem.title, "refused"), faults, ...offers.map(offered)];
}

/** One way out, and the button that takes it. */
function offered({ text, nearest }) {
  const line = element("p", text);
  const button = element("button", say("take"), "offer");
  button.type = "button";
  button.addEventListener("click", () => {
    const request = JSON.parse(at("request").value);
    for (const { pointer, value } of nearest) put(request, pointer, value);
    at("request").value = JSON.stringify(request, null, 2);
    at("run").focus();
    run();
  });
  line.append(" ", button);
  return line;
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
  at("status").textContent = say("asking");
  try {
    const response = await fetch(PATH, { method: "POST", headers, body: at("request").value });
    const answer = await response.json();
    const whole = element("pre", JSON.stringify(answer, null, 2));
    whole.tabIndex = 0;
    at("answer").replaceChildren(...(response.ok ? answered(answer) : refused(answer)), details(say("json"), whole));
    at("status").textContent = response.ok ? say("answered") : say("refused_with", response);
  } catch (error) {
    at("answer").replaceChildren(element("p", say("unread", { why: error.message })));
    at("status").textContent = say("silent");
  }
  at("answer").hidden = false;
  at("run").disabled = false;
}

at("here").textContent = location.origin;
at("run").addEventListener("click", run);
