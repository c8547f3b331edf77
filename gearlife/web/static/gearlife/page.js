// What every page has beyond plain HTML. Without it everything still works.

for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

// Folded parts are open on paper.
const folded = () => document.querySelectorAll("details:not([open])");
let opened = [];
window.addEventListener("beforeprint", () => {
  opened = [...folded()];
  for (const details of opened) details.open = true;
});
window.addEventListener("afterprint", () => {
  for (const details of opened) details.open = false;
});

// One tap sends once. A page that comes back from the browser's memory may send again.
const sent = new WeakSet();
document.addEventListener("submit", (event) => {
  if (event.target.method !== "post") return;
  if (sent.has(event.target)) event.preventDefault();
  sent.add(event.target);
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) sent.delete(form);
});
