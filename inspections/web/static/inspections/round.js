// Lines that do not fit what is typed go away at once; without this the form asks the server.

const form = document.querySelector("form[data-filter]");
if (form) {
  const { number, words } = form.elements;
  const none = document.querySelector("[data-none]");
  const lines = [...document.querySelectorAll("li[data-words]")];
  // As the server compares: letters and figures alone.
  const plain = (text) => text.toLowerCase().normalize("NFKD").replace(/[^\p{L}\p{N}|]/gu, "");

  const fits = (line) =>
    (!number.value.trim() || line.dataset.number.startsWith(number.value.trim())) &&
    plain(line.dataset.words).includes(plain(words.value.trim()));

  const show = () => {
    for (const line of lines) line.hidden = !fits(line);
    for (const section of document.querySelectorAll("main section")) {
      section.hidden = !section.querySelector("li:not([hidden])");
    }
    const typed = number.value.trim() || words.value.trim();
    for (const done of document.querySelectorAll("details.done")) done.open = Boolean(typed);
    none.hidden = lines.some((line) => !line.hidden);
  };

  form.addEventListener("input", show);
  if (!number.value && !words.value) number.focus({ preventScroll: true });
}
