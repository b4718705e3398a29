// What moves on the pages. Each of them does without.
"use strict";
(() => {
  // What takes long, a plan or an answer, is followed until it is over.
  for (const section of document.querySelectorAll("[data-live]")) {
    const live = new EventSource(section.dataset.live);
    live.onmessage = (event) => {
      const seen = JSON.parse(event.data);
      if (seen.state !== "running") {
        live.close();
        location.reload();
        return;
      }
      for (const place of section.querySelectorAll("[data-seen]")) {
        const value = seen[place.dataset.seen];
        if (value === null || value === undefined) continue;
        place.textContent = value;
        // The words around a number come with the number.
        place.closest("[hidden]")?.removeAttribute("hidden");
      }
      const bar = section.querySelector("progress[max]");
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
  let asking = null;
  const show = async (target) => {
    // Nobody waits for the answer of before any more.
    asking?.abort();
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
    asking = new AbortController();
    const address = "/api/questions/why?job=" + encodeURIComponent(row.dataset.job);
    const answer = await fetch(address, { signal: asking.signal }).catch(() => null);
    const came = await answer?.json().catch(() => null);
    if (!answer?.ok || !came) {
      why.textContent = came?.detail ?? "";
      return;
    }
    const { chain } = came;
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
  // A text that is to be sent is copied whole.
  for (const text of document.querySelectorAll(".copied")) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Copy";
    button.setAttribute("aria-label", "Copy: " + text.getAttribute("aria-label"));
    button.addEventListener("click", async () => {
      getSelection().selectAllChildren(text);
      try {
        await navigator.clipboard.writeText(text.textContent);
      } catch {
        // Without TLS there is no clipboard to write to; what is selected can be copied all the same.
        document.execCommand("copy");
      }
      button.textContent = "Copied";
    });
    text.after(button);
  }
  // Day by day, a sheet begins with today.
  for (const today of document.querySelectorAll(".dayview.today")) today.parentElement.scrollLeft = today.offsetLeft;
  // Paper leads nowhere, nor does a PDF of it.
  const leads = Array.from(document.querySelectorAll("a[href]"), (link) => [link, link.getAttribute("href")]);
  addEventListener("beforeprint", () => leads.forEach(([link]) => link.removeAttribute("href")));
  addEventListener("afterprint", () => leads.forEach(([link, to]) => link.setAttribute("href", to)));
  for (const button of document.querySelectorAll("button.print")) {
    button.hidden = false;
    button.addEventListener("click", () => print());
  }
  document.getElementById("chosen-close")?.addEventListener("click", () => (chosen.hidden = true));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen) chosen.hidden = true;
  });
})();
