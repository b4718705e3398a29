// What moves on the pages. Each of them does without.
"use strict";
(() => {
  const planning = document.getElementById("planning");
  if (planning && planning.dataset.state === "running" && window.EventSource) {
    const live = new EventSource("/api/planning/live");
    live.onmessage = (event) => {
      const seen = JSON.parse(event.data);
      if (seen.state !== "running") {
        live.close();
        location.reload();
        return;
      }
      for (const place of planning.querySelectorAll("[data-seen]")) {
        const value = seen[place.dataset.seen];
        if (value !== null && value !== undefined) place.textContent = value;
      }
      const bar = planning.querySelector("progress");
      if (bar) bar.value = seen.elapsed;
    };
    // The service has stopped, or somebody signed out: the page says which.
    live.onerror = () => setTimeout(() => location.reload(), 3000);
  }

  const chosen = document.getElementById("chosen");
  const words = (row) => Array.from(row.children, (cell) => cell.textContent.trim()).filter(Boolean);
  const show = async (target) => {
    const row = document.getElementById(target);
    if (!chosen || !row) return;
    chosen.replaceChildren();
    const line = document.createElement("p");
    const why = row.querySelector("[data-why]");
    const told = words(row);
    if (why) told.pop();
    line.textContent = told.join(" · ").replace(/\s+/g, " ");
    chosen.append(line);
    chosen.hidden = false;
    if (!why) return;
    const then = document.createElement("p");
    then.textContent = "Why then …";
    chosen.append(then);
    const answer = await fetch("/api/questions/why?job=" + encodeURIComponent(why.dataset.why));
    if (!answer.ok) {
      then.remove();
      return;
    }
    const step = told[0];
    const chain = (await answer.json()).chain;
    then.textContent = chain.length ? "Why then: " + chain.map((link) => link.says).slice(0, 3).join("; then ") : "Why then: nothing holds it, as far as the rules go";
    chosen.dataset.step = step;
  };
  for (const link of document.querySelectorAll("svg.sheet a")) {
    const target = link.getAttribute("href").slice(1);
    link.addEventListener("click", (event) => {
      if (!chosen) return;
      event.preventDefault();
      show(target);
    });
    link.addEventListener("focus", () => link.classList.add("focus"));
    link.addEventListener("blur", () => link.classList.remove("focus"));
  }
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen) chosen.hidden = true;
  });
})();
