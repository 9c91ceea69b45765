"use strict";
// Asks the server whether the deck has changed, and shows it then: the address keeps the card.
addEventListener("DOMContentLoaded", () => {
  const panel = document.getElementById("panel");
  const [what, text] = [panel.querySelector("p"), panel.querySelector("pre")];
  const ASK_EVERY_MS = 500;
  const say = (sentence, details) => {
    if (what.textContent !== sentence) what.textContent = sentence;
    if (text.textContent !== details) text.textContent = details;
    text.hidden = !details;
    panel.hidden = !sentence;
  };
  const ask = async () => {
    try {
      const answer = await fetch("version", { cache: "no-store" });
      if (!answer.ok) throw new Error(answer.statusText);
      const { version, trouble } = await answer.json();
      if (version !== panel.dataset.version) {
        location.reload();
        return;
      }
      say(trouble ? panel.dataset.broken : "", trouble);
    } catch {
      say(panel.dataset.ended, "");
    }
    setTimeout(ask, ASK_EVERY_MS);
  };
  ask();
});
