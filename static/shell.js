// The page that the worker keeps: for the address of a log form it shows that form, for its own the list of what waits, and
// for any other that there is no signal. It runs before the scripts of the forms.
(() => {
  "use strict";
  const shown = document.getElementById("shown"), path = location.pathname;
  const logs = Array.from(document.querySelectorAll("template[data-log-page]"));
  const heading = document.querySelector("header h1"), name = document.title.split(" · ").pop();
  for (const here of document.querySelectorAll(".nav [aria-current]")) here.removeAttribute("aria-current");
  const put = (template) => {
    shown.replaceChildren(template.content.cloneNode(true));
    heading.textContent = template.dataset.title;
    document.title = `${template.dataset.title} · ${name}`;
  };
  const log = logs.find((one) => one.dataset.logPage === path);
  if (log) {
    document.body.classList.add("filling");
    return put(log);
  }
  const list = shown.querySelector("[data-waiting-list]");
  const line = document.querySelector("[data-waiting]");
  if (new URL(line.querySelector("a").href).pathname !== path) {
    put(document.querySelector("template[data-lost]"));
    // The page that was asked for comes with the signal, unless one is on the way to another by then.
    const ask = () => location.reload();
    window.addEventListener("online", ask);
    window.addEventListener("beforeunload", () => window.removeEventListener("online", ask));
    return undefined;
  }

  // All that waits stands in the list itself.
  line.remove();

  // --- The list ------------------------------------------------------------------------------------------------------
  const { outbox, make } = self.book || {};
  if (!outbox) return undefined;
  const said = document.getElementById("said"), row = document.querySelector("template[data-row]");
  const UNREADABLE = "This cannot be read any more: the key of the book has changed since. Log it again, then drop it here.";
  const NOBODY = "Nobody is signed in on this phone. Sign in: what you saved here is sent, and nobody else sees it.";

  const when = (text) => new Date(text).toLocaleString("en-GB", { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
  const why = ({ errors = {}, questions = {} }) => Object.values(errors).flat().concat(Object.values(questions).map((one) => one.why)).join(" ");

  const say = (words, act, does) => {
    const box = make("div", "", { className: "said" });
    box.append(make("p", words));
    if (act) {
      const key = make("button", act, { type: "button" });
      key.addEventListener("click", () => { said.replaceChildren(); does(); });
      box.append(key);
    }
    said.replaceChildren(box);
  };

  const drawn = ({ row: kept, entry }) => {
    const line = row.content.cloneNode(true), part = (name) => line.querySelector(`[data-${name}]`);
    const form = entry && logs.find((one) => one.dataset.logPage === entry.to);
    const title = form ? form.dataset.title : "Something you logged";
    part("title").textContent = title;
    part("when").textContent = entry ? `saved ${when(entry.when)}` : "";
    part("words").textContent = entry ? entry.words : "";
    part("why").hidden = Boolean(entry) && !entry.answer;
    part("why").textContent = entry ? why(entry.answer || {}) : UNREADABLE;
    if (form) part("open").href = `${entry.to}#${kept.ref}`;
    else part("open").remove();
    part("drop").addEventListener("click", async () => {
      await outbox.remove(kept.n);
      say(`${title} dropped.`, "Put it back", () => outbox.putBack(kept));
    });
    return line;
  };

  let drawing = Promise.resolve();
  const draw = () => {
    drawing = drawing.then(async () => {
      const kept = await outbox.kit(), all = await outbox.list();
      // What the book asks about, or cannot take, is not sent by itself.
      const unsent = all.filter((one) => one.row.state === "waiting"), asked = all.filter((one) => one.row.state !== "waiting");
      list.replaceChildren(...unsent.map(drawn));
      shown.querySelector("[data-asked-list]").replaceChildren(...asked.map(drawn));
      shown.querySelector("[data-asked]").hidden = !asked.length;
      shown.querySelector("[data-unsent]").hidden = asked.length > 0 && !unsent.length;
      shown.querySelector("[data-some]").hidden = !unsent.length;
      const nothing = shown.querySelector("[data-nothing]");
      nothing.hidden = all.length > 0;
      if (!kept) nothing.textContent = NOBODY;
    });
  };
  shown.querySelector("[data-send]").addEventListener("click", async () => {
    if (!(await outbox.send())) say("No signal yet. What waits is sent by itself once there is one.");
  });
  outbox.listen(({ what }) => { if (what !== "rested") draw(); });
  draw();
  return undefined;
})();
