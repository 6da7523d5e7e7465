// Starts the API page. What every operation has stands behind one line: problems, headers.
"use strict";

const problem = (status) => Number(status) >= 400;

/** Whether it is open, and the line that opens and closes it. */
function fold({ createElement, useState }, what) {
  const [open, setOpen] = useState(false);
  const button = { type: "button", className: "btn fold", "aria-expanded": open, onClick: () => setOpen(!open) };
  return [open, createElement("button", button, `${open ? "Hide" : "Show"} ${what}`)];
}

const responses = (Responses, { React }) =>
  function FoldedResponses(props) {
    const problems = props.responses.keySeq().toArray().filter(problem);
    const [open, line] = fold(React, `the problems: ${problems.join(", ")}`);
    const shown = open ? props.responses : props.responses.filterNot((_, status) => problem(status));
    const table = React.createElement(Responses, { ...props, responses: shown });
    return React.createElement("div", null, table, problems.length > 0 && line);
  };

const headers = (Headers, { React }) =>
  function FoldedHeaders(props) {
    const [open, line] = fold(React, `the headers: ${props.headers.keySeq().join(", ")}`);
    return React.createElement("div", null, line, open && React.createElement(Headers, props));
  };

SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#api",
  deepLinking: true,
  validatorUrl: null,
  defaultModelsExpandDepth: 0,
  plugins: [{ wrapComponents: { responses, headers } }],
});
