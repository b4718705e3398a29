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
  // What holds a step where it is, asked once it is looked at.
  let asking = null;
  const holds = async (why) => {
    // Nobody waits for the answer of before any more.
    asking?.abort();
    asking = new AbortController();
    const link = why.querySelector("a");
    link.textContent = "…";
    const address = "/api/questions/why?job=" + encodeURIComponent(why.dataset.job);
    const answer = await fetch(address, { signal: asking.signal }).catch(() => null);
    const came = await answer?.json().catch(() => null);
    // The chain leads from the job's last step back; what holds this one, where it says so.
    const found = came?.chain?.find((of) => of.job === why.dataset.job && of.step === why.dataset.step);
    const none = came?.chain ? "The end of the job does not wait for this step" : came?.detail ?? "";
    const says = found ? found.says : none;
    if (says) why.prepend(says[0].toUpperCase() + says.slice(1).replace(/\.$/, "") + ". ");
    link.textContent = "Why not sooner?";
  };
  const close = () => {
    if (!chosen || chosen.hidden) return;
    asking?.abort();
    chosen.hidden = true;
    from?.focus();
  };
  let from = null;
  // A strip or a line opens beside the drawing.
  const show = async (link) => {
    const to = link.getAttribute("href");
    told.replaceChildren();
    if (to.startsWith("#")) {
      const row = document.getElementById(to.slice(1));
      if (!row) return;
      say(row.querySelector("dt").textContent);
      for (const stay of row.querySelectorAll("li")) say(stay.textContent.trim());
    } else {
      const answer = await fetch(to).catch(() => null);
      const text = answer?.ok && !answer.redirected ? await answer.text() : "";
      const opened = new DOMParser().parseFromString(text, "text/html").getElementById("opened");
      if (!opened) {
        location.assign(to);
        return;
      }
      const name = document.createElement("h2");
      const page = document.createElement("a");
      page.href = to;
      page.textContent = opened.getAttribute("aria-label");
      name.append(page);
      told.replaceChildren(name, opened);
      const why = opened.querySelector(".why");
      if (why) holds(why);
    }
    from = link;
    chosen.hidden = false;
    chosen.focus({ preventScroll: true });
  };
  for (const link of chosen ? document.querySelectorAll("svg.sheet a") : []) {
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      if (!link.dataset.dragged) show(link);
    });
  }
  const opened = document.querySelector("#opened .why");
  if (opened) holds(opened);
  // A strip that is dragged to another half-day is asked to be there.
  for (const strip of chosen?.dataset.moves ? document.querySelectorAll("svg.sheet[data-halves] a.strip[href^='/step/']") : []) {
    strip.classList.add("moves");
    const sheet = strip.ownerSVGElement;
    const halves = sheet.dataset.halves.split(";").map((half) => [Number(half.split(",")[0]), half.split(",")[1]]);
    const at = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(sheet.getScreenCTM().inverse()).x;
    const column = (x) => halves.findLast(([begins]) => begins <= x) ?? halves[0];
    let grabbed = null;
    let ghost = null;
    // Its left edge, a little within.
    const edge = () => strip.querySelector(".paper").getBBox().x + 8;
    const dropped = (event) => column(edge() + at(event) - grabbed);
    // A finger that rests on a strip takes hold of it; one that is drawn over it scrolls the sheet.
    let resting = null;
    const lift = () => {
      strip.dataset.dragged = "on";
      ghost = strip.querySelector(".paper").cloneNode();
      ghost.setAttribute("class", "ghost");
      sheet.append(ghost);
    };
    const take = (event) => {
      grabbed = at(event);
      strip.setPointerCapture(event.pointerId);
    };
    strip.addEventListener("dragstart", (event) => event.preventDefault());
    strip.addEventListener("pointerdown", (event) => {
      delete strip.dataset.dragged;
      if (event.button !== 0 || !event.isPrimary) return;
      if (event.pointerType !== "touch") return take(event);
      const hold = () => {
        resting = null;
        take(event);
        lift();
        navigator.vibrate?.(15);
      };
      resting = { timer: setTimeout(hold, 400), x: event.clientX, y: event.clientY };
    });
    strip.addEventListener("pointermove", (event) => {
      if (resting && Math.hypot(event.clientX - resting.x, event.clientY - resting.y) > 8) left();
      if (grabbed === null || (!ghost && Math.abs(at(event) - grabbed) < 6)) return;
      if (!ghost) lift();
      ghost.setAttribute("transform", "translate(" + (dropped(event)[0] - column(edge())[0]) + " 0)");
    });
    // What is held does not scroll, nor is it asked what to do with a link.
    strip.addEventListener("touchmove", (event) => grabbed !== null && event.preventDefault(), { passive: false });
    strip.addEventListener("contextmenu", (event) => (resting || grabbed !== null) && event.preventDefault());
    const left = () => {
      clearTimeout(resting?.timer);
      ghost?.remove();
      resting = ghost = grabbed = null;
    };
    strip.addEventListener("pointercancel", left);
    strip.addEventListener("pointerup", (event) => {
      const to = ghost && dropped(event);
      left();
      if (to && to !== column(edge())) location.assign(strip.getAttribute("href") + "/move?to=" + encodeURIComponent(to[1]));
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
  // Whoever came to print does not look for the button.
  if (location.hash === "#print" && document.querySelector("button.print")) addEventListener("load", () => print());
  document.getElementById("chosen-close")?.addEventListener("click", close);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") close();
  });
})();
