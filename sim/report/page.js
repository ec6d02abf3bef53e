// Pictures in the colours of paper or of the dark, redrawn when the reader's setting changes; paper gets the still ones.
const SHADES = {
  light: { ink: "#14213d", brick: "#b5432f", teal: "#1f7f8c", amber: "#a97a00", plum: "#6a3a78", quiet: "#55606f", shade: "#bdbab1", pale: "#e6e3da", rule: "#e2dfd6", paper: "#fdfcf9" },
  dark: { ink: "#e8e6df", brick: "#ff9178", teal: "#67cfdd", amber: "#f0c75e", plum: "#cda2dd", quiet: "#a9b2be", shade: "#566070", pale: "#2b3340", rule: "#343c48", paper: "#151a22" },
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
  const size = narrow.matches ? 11 : 13;
  const axis = { gridcolor: shade.rule, zeroline: false, linecolor: shade.quiet, showline: true, ticks: "outside", tickcolor: shade.quiet, automargin: true, tickangle: 0, ticklabeloverflow: "allow" };
  const found = Object.assign({}, layout, {
    paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: shade.ink, size, family: "system-ui, DejaVu Sans, sans-serif" },
    margin: { l: 10, r: 18, t: 24, b: 10 }, hoverlabel: { bgcolor: shade.paper, font: { color: shade.ink } },
    legend: { orientation: "h", yref: "container", y: 0, x: 0, yanchor: "bottom", font: { size } },
  });
  for (const name of Object.keys(layout)) if (/^[xy]axis/.test(name)) {
    found[name] = Object.assign({}, axis, layout[name]);
    if (narrow.matches) found[name].nticks = Math.ceil(0.6 * layout[name].nticks);
    found[name].title = Object.assign({ font: { size }, standoff: 4 }, layout[name].title);
  }
  return found;
}
function draw(theme) {
  const shade = SHADES[theme];
  for (const [id, picture] of Object.entries(PICTURES)) {
    const keys = picture.data.filter((one) => one.showlegend !== false).length;
    const layout = layoutOf(coloured(picture.layout, shade), shade);
    layout.height = picture.height + (narrow.matches ? 14 * keys : 0); // there they stand one below the other
    document.getElementById(id).style.height = `${layout.height}px`;
    Plotly.react(id, coloured(picture.data, shade), layout, { displayModeBar: false, responsive: true });
  }
}
const asSet = () => draw(dark.matches ? "dark" : "light");
window.addEventListener("load", () => setTimeout(asSet)); // words first
dark.addEventListener("change", asSet);
narrow.addEventListener("change", asSet);
