// On paper what is folded is opened, the data apart.
let opened = [];
window.addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("section:not(.data) > details:not([open])")];
  for (const one of opened) one.open = true;
});
window.addEventListener("afterprint", () => { for (const one of opened) one.open = false; });
