// Shows at once what an answer changes. Without this script the button "Show what these answers change" does it.
"use strict";
(() => {
  const form = document.getElementById("answers");
  const WAIT_MS = 120;
  let newest = 0;
  let timer = 0;

  const say = (text) => { document.getElementById("since").textContent = text; };

  const put = (told) => {
    for (const [name, text] of Object.entries(told.answers)) {
      const input = form.elements.namedItem(name);
      if (input && "value" in input) input.value = text;
    }
    for (const [id, html] of Object.entries(told.parts)) {
      const part = document.getElementById(id);
      if (part && part.dataset.shown !== html) { part.innerHTML = html; part.dataset.shown = html; }
    }
  };

  const ask = async (carry) => {
    clearTimeout(timer);
    const mine = ++newest;
    const body = new URLSearchParams(new FormData(form));
    if (carry) body.append("carry", "yes");
    form.setAttribute("aria-busy", "true");
    try {
      const reply = await fetch("answers", { method: "POST", body });
      const told = reply.ok ? await reply.json() : null;
      if (mine !== newest) return;
      if (!told) { say(`The program refused this request (${reply.status}).`); return; }
      if (!told.superseded) put(told);
      if (carry) document.getElementById("q2-head").focus();
    } catch {
      if (mine === newest) say("The program does not answer. Is it still running?");
    } finally {
      if (mine === newest) form.removeAttribute("aria-busy");
    }
  };

  form.addEventListener("input", () => { clearTimeout(timer); newest += 1; timer = setTimeout(ask, WAIT_MS, false); });
  form.addEventListener("submit", (event) => {
    const by = event.submitter ? event.submitter.id : "show";
    if (by !== "show" && by !== "carry") return;
    event.preventDefault();
    ask(by === "carry");
  });
})();
