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
        if (value === null || value === undefined) continue;
        place.textContent = value;
        // The words around a number come with the number.
        place.closest("[hidden]")?.removeAttribute("hidden");
      }
      const bar = planning.querySelector("progress");
      if (bar) bar.value = seen.elapsed;
    };
    // The service has stopped, or somebody signed out: the page says which.
    live.onerror = () => setTimeout(() => location.reload(), 3000);
  }

  const chosen = document.getElementById("chosen");
  const told = document.getElementById("chosen-says");
  const say = (text) => {
    const line = document.createElement("p");
    line.textContent = text;
    told.append(line);
    return line;
  };
  const show = async (target) => {
    const row = document.getElementById(target);
    if (!row) return;
    told.replaceChildren();
    chosen.hidden = false;
    const stays = row.querySelectorAll("li");
    if (stays.length > 0) {
      say(row.querySelector("dt").textContent);
      for (const stay of stays) say(stay.textContent.trim());
      return;
    }
    const cells = Array.from(row.children, (cell) => cell.textContent.trim().replace(/\s+/g, " "));
    say(cells.slice(0, 4).join(" · "));
    if (!row.dataset.job) return;
    const why = say("Why then …");
    const answer = await fetch("/api/questions/why?job=" + encodeURIComponent(row.dataset.job));
    const chain = answer.ok ? (await answer.json()).chain : [];
    // The chain leads from the job's last step back; what holds this one, where it says so.
    const link = chain.find((link) => link.job === row.dataset.job && link.step === row.dataset.step);
    why.textContent = link ? "Why then: " + link.says + "." : "Why then: no step of the chain that holds the job waits for this one.";
  };
  for (const link of chosen ? document.querySelectorAll("svg.sheet a") : []) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      show(link.getAttribute("href").slice(1));
    });
  }
  document.getElementById("chosen-close")?.addEventListener("click", () => (chosen.hidden = true));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen) chosen.hidden = true;
  });
})();
