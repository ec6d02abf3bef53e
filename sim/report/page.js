// Pictures in the colours of paper or of the dark, redrawn when the reader's setting changes, and on paper for print.
const SHADES = {
  light: { ink: "#14213d", brick: "#b5432f", teal: "#1f7f8c", amber: "#a97a00", plum: "#6a3a78", quiet: "#55606f", rule: "#e2dfd6", paper: "#fdfcf9" },
  dark: { ink: "#e8e6df", brick: "#ff9178", teal: "#67cfdd", amber: "#f0c75e", plum: "#cda2dd", quiet: "#a9b2be", rule: "#343c48", paper: "#151a22" },
};
const dark = window.matchMedia("(prefers-color-scheme: dark)");
const narrow = window.matchMedia("(max-width: 40rem)");
function coloured(part, shade) {
  if (typeof part === "string") return part.startsWith("@") ? shade[part.slice(1)] : part;
  if (Array.isArray(part)) return part.map((item) => coloured(item, shade));
  if (part && typeof part === "object") return Object.fromEntries(Object.entries(part).map(([k, v]) => [k, coloured(v, shade)]));
  return part;
}
function layoutOf(layout, shade) {
  const axis = { gridcolor: shade.rule, zeroline: false, linecolor: shade.quiet, showline: true, ticks: "outside", tickcolor: shade.quiet, automargin: true, tickangle: 0 };
  const found = Object.assign({}, layout, {
    paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: shade.ink, size: 13, family: "system-ui, DejaVu Sans, sans-serif" },
    margin: { l: 10, r: 10, t: 10, b: narrow.matches ? 140 : 95 }, hovermode: "x unified", hoverlabel: { bgcolor: shade.paper, font: { color: shade.ink } },
    legend: { orientation: "h", yref: "container", y: 0, x: 0, yanchor: "bottom", font: { size: narrow.matches ? 11 : 13 } },
  });
  for (const name of Object.keys(layout)) if (/^[xy]axis/.test(name)) found[name] = Object.assign({}, axis, layout[name]);
  for (const name of ["xaxis", "yaxis"]) if (!found[name]) found[name] = axis;
  if (narrow.matches && found.xaxis.dtick === 90) found.xaxis = Object.assign({}, found.xaxis, { dtick: 180 });
  return found;
}
function draw(theme) {
  const shade = SHADES[theme];
  for (const [id, picture] of Object.entries(PICTURES)) {
    Plotly.react(id, coloured(picture.data, shade), layoutOf(coloured(picture.layout, shade), shade), { displayModeBar: false, responsive: true });
  }
}
const asSet = () => draw(dark.matches ? "dark" : "light");
window.addEventListener("load", () => setTimeout(asSet)); // words first
dark.addEventListener("change", asSet);
narrow.addEventListener("change", asSet);
window.addEventListener("beforeprint", () => draw("light"));
window.addEventListener("afterprint", asSet);
