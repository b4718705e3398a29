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
  // The steps of a job are moved, copied, added and removed without sending the form each time.
  for (const list of document.querySelectorAll("[data-rows]")) {
    const table = list.querySelector("table");
    const begins = new RegExp("\\b" + list.dataset.rows + "\\.\\d+\\.", "g");
    const empty = table.querySelector("tbody.new").cloneNode(true);
    const renumber = () =>
      Array.from(table.tBodies, (step, n) => {
        for (const part of step.querySelectorAll("[name], [id], [for], [aria-describedby], [aria-label]")) {
          for (const name of ["name", "id", "for", "aria-describedby"]) {
            const value = part.getAttribute(name);
            if (value) part.setAttribute(name, value.replace(begins, list.dataset.rows + "." + n + "."));
          }
          const label = part.getAttribute("aria-label");
          if (label) part.setAttribute("aria-label", label.replace(/step \d+/, "step " + (n + 1)));
        }
        step.querySelector(".number").textContent = n + 1;
      });
    const act = (step, sign, says, does) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = sign;
      button.setAttribute("aria-label", says + " step 0");
      button.addEventListener("click", () => {
        does();
        renumber();
      });
      step.querySelector("th").append(" ", button);
    };
    const dress = (step) => {
      step.classList.remove("new");
      step.querySelector(".rowacts")?.remove();
      const number = document.createElement("span");
      number.className = "number";
      step.querySelector("th").replaceChildren(number);
      act(step, "\u2191", "Move up", () => step.previousElementSibling?.matches("tbody") && step.previousElementSibling.before(step));
      act(step, "\u2193", "Move down", () => step.nextElementSibling?.after(step));
      act(step, "copy", "Copy", () => {
        const copy = step.cloneNode(true);
        // What was chosen is no part of the markup, and a copy is a step of its own.
        step.querySelectorAll("select").forEach((select, n) => (copy.querySelectorAll("select")[n].value = select.value));
        copy.querySelector('[name$=".id"]').value = "";
        step.after(copy);
        dress(copy);
      });
      act(step, "\u00d7", "Remove", () => table.tBodies.length > 1 && step.remove());
    };
    Array.from(table.tBodies, dress);
    renumber();
    const add = document.createElement("button");
    add.type = "button";
    add.textContent = "One more step";
    add.addEventListener("click", () => {
      const step = empty.cloneNode(true);
      table.append(step);
      dress(step);
      renumber();
      step.querySelector("input").focus();
    });
    list.append(add);
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
