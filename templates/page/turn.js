"use strict";
// One card at a time: turns it over, goes on to the next, finds a leave. Without it the page shows
// all cards in order.
document.documentElement.classList.add("live");
addEventListener("DOMContentLoaded", () => {
  const cards = [...document.querySelectorAll("article")];
  const links = [...document.querySelectorAll("nav li a")];
  const box = document.querySelector("details");
  const find = document.getElementById("find");
  const main = document.getElementById("cards");
  const now = document.getElementById("now");
  const place = document.getElementById("place");
  const [previous, turn, next] = ["previous", "turn", "next"].map((id) =>
    document.getElementById(id));
  const wide = matchMedia("(min-width: 62rem)");
  const SWIPE_PX = 45;
  const turns = new Set([" ", "Enter"]);
  const sections = cards.map((card) => card.parentElement);
  let at = -1;

  const onBack = () => cards[at].classList.contains("turned");
  const keep = () => {
    const name = cards[at].id + (onBack() ? "-back" : "");
    if (location.hash !== `#${name}`) history.replaceState(null, "", `#${name}`);
  };

  // A reader hears a change once: from the card where that has the focus, and else from a line
  // that is there for nothing else.
  const show = (index, { back = false, tell = true, focus = false } = {}) => {
    const card = cards[index];
    const from = at;
    let focused = focus;
    if (index !== from) {
      if (from >= 0) {
        focused ||= cards[from].contains(document.activeElement);
        sections[from].classList.remove("open");
        cards[from].classList.remove("shown", "turned", "from-left", "from-right");
        links[from].removeAttribute("aria-current");
        card.classList.add(index > from ? "from-right" : "from-left");
      }
      at = index;
      sections[at].classList.add("open");
      card.classList.add("shown");
      links[at].setAttribute("aria-current", "true");
      if (wide.matches) links[at].scrollIntoView({ block: "nearest" });
      place.textContent = card.querySelector("h3 small").textContent;
      previous.setAttribute("aria-disabled", String(at === 0));
      next.setAttribute("aria-disabled", String(at === cards.length - 1));
    }
    card.classList.toggle("turned", back);
    const said = card.querySelector(`${back ? ".back" : ".front"} figcaption`);
    card.setAttribute("aria-describedby", said.id);
    if (focused) card.focus({ preventScroll: true });
    if (!tell) return;
    keep();
    const text = said.textContent;
    if (focused) now.textContent = "";
    else now.textContent = index === from ? text : `${place.textContent}. ${text}`;
  };
  const go = (index) => {
    if (index >= 0 && index < cards.length && index !== at) show(index);
  };
  const flip = () => {
    cards[at].classList.remove("from-left", "from-right");
    show(at, { back: !onBack() });
  };
  const goTo = (index) => {
    if (!wide.matches) box.open = false;
    show(index, { focus: true });
    main.scrollIntoView({ block: "nearest" });
  };

  // The address tells which card, and which side of it.
  const read = (tell) => {
    const name = location.hash.slice(1);
    const index = cards.findIndex((card) => name === card.id || name === `${card.id}-back`);
    if (index >= 0) show(index, { back: name.endsWith("-back"), tell });
    else if (at < 0) show(0, { tell });
  };

  document.querySelector(".skip").addEventListener("click", (event) => {
    event.preventDefault();  // the address goes on telling which card it is
    main.focus();
  });

  const tidy = () => { box.open = wide.matches; };
  wide.addEventListener("change", tidy);
  tidy();
  read(false);
  addEventListener("hashchange", () => read(true));

  previous.addEventListener("click", () => go(at - 1));
  next.addEventListener("click", () => go(at + 1));
  turn.addEventListener("click", flip);
  links.forEach((link, index) =>
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      goTo(index);
    }));

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (event.isComposing) return;
    const listed = box.open && !wide.matches;
    if (event.key === "Escape" && listed) {
      find.value = "";
      search();
      box.open = false;
      box.querySelector("summary").focus();
      event.preventDefault();
      return;
    }
    if (event.target.closest("input")) return;
    if (event.key === "Escape" && onBack()) {
      flip();
      return;
    }
    const moves = { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: cards.length - 1 };
    if (event.key in moves) go(moves[event.key]);
    else if (turns.has(event.key) && !event.target.closest("a, button, summary")) {
      if (!event.repeat) flip();
    } else return;
    event.preventDefault();
  });

  // Once the page is enlarged, a finger is there to move it.
  const view = window.visualViewport;
  const enlarged = () => (view?.scale ?? 1) > 1.01;
  view?.addEventListener("resize", () => main.classList.toggle("enlarged", enlarged()));

  // A finger that moves across goes on; a tap turns the card over.
  let start = null;
  let moved = false;
  const settle = () => {
    if (start) start.sides.style.removeProperty("translate");
    start = null;
  };
  main.addEventListener("pointerdown", (event) => {
    settle();
    moved = false;
    const sides = cards[at].querySelector(".sides");
    const touch = event.pointerType !== "mouse" && event.isPrimary;
    if (!touch || enlarged() || !sides.contains(event.target)) return;
    start = { x: event.clientX, y: event.clientY, sides };
  });
  main.addEventListener("pointermove", (event) => {
    if (!start || !event.isPrimary) return;
    const across = event.clientX - start.x;
    if (Math.abs(across) < 10) return;
    moved = true;
    start.sides.style.setProperty("translate", `${across / 2}px 0`);
  });
  main.addEventListener("pointercancel", settle);
  main.addEventListener("pointerup", (event) => {
    if (!start || !event.isPrimary) return;
    const across = event.clientX - start.x;
    const down = event.clientY - start.y;
    settle();
    const sideways = Math.abs(across) > 1.5 * Math.abs(down);
    if (sideways && Math.abs(across) > SWIPE_PX) go(at + (across < 0 ? 1 : -1));
  });
  main.addEventListener("click", (event) => {
    if (event.target.closest(".sides") && !moved && getSelection().isCollapsed) flip();
  });

  // Pins may be typed with or without something between them: 3-10, 3 10, 310. A last 1 may become
  // a 10. Anything else is looked for in the names.
  const leaves = links.map((link) => link.dataset.pins.split(" "));
  const names = links.map((link) => link.getAttribute("aria-label").toLowerCase());
  const asked = () => {
    const text = find.value.trim().toLowerCase();
    if (!text) return { fits: () => true, exact: () => false };
    if (!/^[\d\s,.;–-]+$/.test(text)) {
      return { exact: (i) => names[i] === text, fits: (i) => names[i].includes(text) };
    }
    const pins = text.match(/10|[1-9]/g) || [];
    const open = /1$/.test(text);
    const last = pins.length - 1;
    const may = (leave, pin, i) =>
      leave.includes(pin) || (i === last && open && leave.includes("10"));
    const exact = (index) =>
      leaves[index].length === pins.length && pins.every((pin) => leaves[index].includes(pin));
    const fits = (index) => {
      const leave = leaves[index];
      if (!pins.length || leave.length === 10) return exact(index);  // the full rack has every pin
      return pins.every((pin, i) => may(leave, pin, i));
    };
    return { exact, fits };
  };
  const search = () => {
    const { fits, exact } = asked();
    const found = links.map((_, index) => index).filter(fits);
    links.forEach((link, index) => { link.parentElement.hidden = !found.includes(index); });
    document.querySelectorAll("nav section").forEach((part) => {
      part.hidden = !part.querySelector("li:not([hidden])");
    });
    document.getElementById("none").hidden = found.length > 0;
    return found.find(exact) ?? found[0];
  };
  find.addEventListener("input", search);
  find.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    const best = search();
    if (best === undefined) return;
    find.value = "";
    search();
    goTo(best);
  });
});
