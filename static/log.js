// A log page: what is typed is held against what is usual, kept on this phone, sent, and told above the form, which is then
// a new one. Without keys of the browser (plain http) or without this script, the form is sent as any other.
(() => {
  "use strict";
  const { outbox, make } = self.book || {};
  const form = document.querySelector("form[data-log]");
  if (!outbox || !form) return;
  const WAITING = "/log/waiting/";
  const SIGNED_OUT = "You are signed out, perhaps from another phone. What is saved on this phone waits until you sign in again.";
  // What is put right now; the reference of what was saved last, until the book has answered, and that entry; whether one
  // types again.
  let putting = null, last = "", saved = null, isTouched = false;

  // --- What is told above the form ------------------------------------------------------------------------------------
  const said = document.getElementById("said") || form.parentElement.insertBefore(make("div", "", { id: "said" }), form);
  said.setAttribute("role", "status");

  const say = (words, ...ends) => {
    const box = make("div", "", { className: "said" });
    box.append(make("p", words), ...ends);
    said.replaceChildren(box);
    said.scrollIntoView({ block: "nearest" });
  };
  const linkTo = ([words, href]) => make("a", words, { href });
  const key = (words, act) => {
    const button = make("button", words, { type: "button" });
    button.addEventListener("click", act, { once: true });
    return button;
  };

  const undo = (address) => key("Undo", async () => {
    const kept = await outbox.kit();
    const headers = { Accept: "application/json", "X-Member": kept ? kept.member : "", "X-CSRFToken": kept ? kept.kit.token : "" };
    try {
      const answer = await fetch(address, { method: "POST", headers, credentials: "same-origin" });
      const told = await answer.json();
      say(answer.ok ? told.told : Object.values(told.errors || {}).join(" ") || "It could not be undone. Look for it among your entries.");
      if (kept) outbox.fetchKit(kept.member);
    } catch (_) {
      say("No signal, so it is not undone. Try again, or take it out of your entries later.", undo(address));
    }
  });

  const tellSignedOut = () => say(SIGNED_OUT, linkTo(["Sign in", `/account/login/?next=${location.pathname}`]));

  const tellSent = ({ told, undo: address, links }, dropped = []) => {
    const keep = () => key("Keep that too", async () => {
      for (const row of dropped) await outbox.putBack(row);
      say("Kept.", linkTo(["Put it right", WAITING]));
    });
    const ends = [...(address ? [undo(address)] : []), ...links.map(linkTo)];
    say(dropped.length ? `${told} What the book asked about before is dropped.` : told, ...ends, ...(dropped.length ? [keep()] : []));
  };

  const tellWaiting = async () => {
    const { waiting } = await outbox.counts();
    if (!waiting) return;
    const ref = last;
    const drop = key("Undo", async () => {
      const found = (await outbox.list()).find(({ row }) => row.ref === ref);
      if (!found) return;
      last = "";
      await outbox.remove(found.row.n);
      await fit();
      say("Undone: it is not sent.");
    });
    say(`Saved on this phone. ${waiting} waiting to be sent.`, drop, linkTo(["See what waits", WAITING]));
  };

  // --- The form ------------------------------------------------------------------------------------------------------------
  const uuid = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const parts = crypto.getRandomValues(new Uint8Array(16));
    parts[6] = (parts[6] & 15) | 64;
    parts[8] = (parts[8] & 63) | 128;
    const hex = Array.from(parts, (one) => one.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  };

  // --- Whose form this is --------------------------------------------------------------------------------------------------
  // A page of the book says it; one that the worker keeps is of whoever's kit it was fitted to first.
  let { member } = document.body.dataset;
  const isOthers = (kept) => Boolean(kept && member && kept.member !== member);
  // What waits counts as if the book had it, but for what is put right just now.
  const fullKit = async (kept) => {
    if (!book.withWaiting) return kept.kit;
    const waiting = (await outbox.list()).filter(({ row, entry }) => entry && row.state === "waiting" && !(putting && putting.row.n === row.n));
    return book.withWaiting(kept.kit, waiting.map(({ entry }) => entry));
  };
  const fit = async () => {
    const kept = await outbox.kit();
    if (!kept || isOthers(kept) || !book.fit) return;
    member = member || kept.member;
    book.fit(form, await fullKit(kept));
  };

  const wordsBelow = (name) => document.getElementById(`id_${name}_words`);
  const clearWords = () => {
    for (const ask of form.querySelectorAll(".live > .ask")) ask.remove();
    for (const top of document.querySelectorAll("main .errors")) top.remove();
    for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  };

  const renew = async () => {
    putting = null;
    isTouched = false;
    form.reset();
    clearWords();
    for (const answer of form.querySelectorAll("input[name=is_right]")) answer.remove();
    form.elements.ref.value = uuid();
    for (const name of ["leave_out", "in_place_of", "how"]) if (form.elements[name]) form.elements[name].value = "";
    if (location.hash) history.replaceState(null, "", location.pathname);
    await fit();
  };
  const focusFirst = () => {
    const first = form.querySelector(".slip input:not([type=hidden], [type=radio], [type=checkbox]), .slip select");
    if (first) first.focus();
  };

  const wrong = (words) => {
    const below = make("p", "", { className: "ask wrong" }), shape = document.querySelector("template[data-shape=off]");
    if (shape) below.append(shape.content.cloneNode(true));
    below.append(make("span", words));
    return below;
  };

  // Say what the book refused and what it asks, below the rows it is about; what belongs to none stands above the form.
  const showRefusal = ({ errors = {}, questions = {} }) => {
    clearWords();
    // What was said of the one before would read as if this one were saved.
    said.replaceChildren();
    const above = [];
    for (const [name, words] of Object.entries(errors)) {
      const below = wordsBelow(name), field = form.elements[name];
      if (!below) above.push(...words);
      else {
        below.append(wrong(words.join(" ")));
        if (field && field.setAttribute) field.setAttribute("aria-invalid", "true");
      }
    }
    if (above.length) {
      const list = make("ul", "", { className: "errors" });
      list.append(...above.map((words) => make("li", words)));
      form.before(list);
    }
    if (Object.keys(questions).length && book.ask) book.ask(form, questions);
    const first = form.querySelector("[aria-invalid]") || form.querySelector(".ask button, .ask") || document.querySelector("main .errors");
    if (first) { first.scrollIntoView({ block: "center" }); first.focus(); }
  };

  // What the book would refuse at once: what is missing, and what is no figure as config/quantities reads it.
  const FIGURE = /^(-?((\d+|\d{1,3}(,\d{3})+)(\.\d*)?|\.\d+)|\d{1,6}:[0-5]\d)$/;
  const faults = () => {
    const errors = {}, put = (field, words) => { errors[field.name] = errors[field.name] || [words]; };
    const { unit_price: price, amount, quantity } = form.elements, days = Array.from(form.querySelectorAll(".week input"));
    for (const field of form.elements) {
      // A fieldset has neither name nor value; what a car does not ask is hidden.
      if (field.type === "hidden" || !field.name || field.disabled || field.closest("[hidden]")) continue;
      const value = field.value.trim(), isChoice = field.type === "radio";
      if (field.required && (isChoice ? !form.elements[field.name].value : !value)) put(field, isChoice ? "Choose one." : field.type === "date" ? "Give a day." : "Fill this in.");
      else if (field.inputMode && value && !FIGURE.test(value.replace(/[\s£]/g, "").replace("−", "-"))) put(field, "This cannot be read: write figures only.");
    }
    if (price && [price, amount, quantity].filter((one) => one.value.trim()).length < 2) for (const one of [amount, quantity]) if (!one.value.trim()) put(one, "Fill this in.");
    if (days.length && !days.some((one) => one.value.trim())) put(days[0], "Fill in a day at least: 0 if there were no lessons.");
    return errors;
  };

  const shown = ({ type, value, valueAsDate, inputMode }) => {
    if (type === "date" && valueAsDate) return valueAsDate.toLocaleDateString("en-GB", { day: "numeric", month: "long", timeZone: "UTC" });
    // Thousands with a comma, as the book writes them.
    return inputMode && /^\s*\d+(\.\d*)?\s*$/.test(value) ? value.trim().replace(/^\d+/, (whole) => whole.replace(/\B(?=(\d{3})+$)/g, ",")) : value.trim();
  };

  // 53.4 pounds are written £53.40.
  const money = (typed) => typed.replace(/\.$/, "").replace(/\.\d$/, (part) => `${part}0`);

  // What is typed, row by row, as a list shows it before it is sent: "Paid £47.92".
  const inWords = () => {
    const found = Array.from(form.querySelectorAll(".set input[type=date]"), shown);
    for (const line of form.querySelectorAll(".week > li")) {
      const { value } = line.querySelector("input");
      if (value && value !== line.dataset.logged) found.push(`${line.querySelector("small").textContent}: ${value}`);
    }
    for (const row of form.querySelectorAll(".slip .row")) {
      const label = row.querySelector("label, legend, .lab"), text = label && label.firstChild ? label.firstChild.textContent.trim() : "";
      const unit = row.querySelector(".unit"), sign = row.querySelector(".pre");
      for (const field of row.querySelectorAll("input:not([type=hidden], [type=file], [type=checkbox], [type=radio]), select, input:checked")) {
        const chosen = field.selectedOptions ? field.selectedOptions[0] : field.labels && field.labels[0];
        const value = field.matches("select, [type=radio], [type=checkbox]") ? (chosen ? chosen.textContent.trim() : "") : shown(field);
        if (!value || row.closest("[hidden]")) continue;
        const own = field.type === "checkbox" || field.type === "radio" ? "" : text;
        const figure = sign ? sign.textContent + money(value) : value;
        found.push(`${own} ${figure} ${unit ? unit.textContent : ""}`.trim());
      }
    }
    const receipts = Array.from(form.querySelectorAll("input[type=file]")).reduce((sum, { files }) => sum + files.length, 0);
    if (receipts) found.push(receipts === 1 ? "with a receipt" : `with ${receipts} receipts`);
    return found.join(" · ");
  };

  const split = (data) => {
    const values = [], files = [];
    for (const [name, value] of data.entries()) {
      if (value instanceof File) { if (value.name && value.size) files.push([name, value]); } else if (name !== "csrfmiddlewaretoken" && name !== "meant") values.push([name, value]);
    }
    return { values, files };
  };

  const fill = (values) => {
    const left = values.slice();
    const take = (name) => { const at = left.findIndex(([one]) => one === name); return at < 0 ? null : left.splice(at, 1)[0][1]; };
    for (const field of form.elements) {
      if (!field.name || field.type === "file" || field.type === "submit" || field.name === "csrfmiddlewaretoken") continue;
      if (field.type === "radio" || field.type === "checkbox") field.checked = values.some(([name, value]) => name === field.name && value === field.value);
      else { const value = take(field.name); if (value !== null) field.value = value; }
      field.dispatchEvent(new Event("change", { bubbles: true }));
    }
    for (const [name, value] of left) if (name === "is_right") answer(value);
  };
  const answer = (value) => form.append(make("input", "", { type: "hidden", name: "is_right", value }));

  // A key of a question: what is meant goes into its fields; what is right is said along with all that is sent from now on.
  const heed = (pressed) => {
    if (!pressed || !pressed.name) return;
    if (pressed.name === "is_right") answer(pressed.value);
    if (pressed.name !== "meant") return;
    for (const [name, value] of new URLSearchParams(pressed.value)) {
      const field = form.elements[name];
      if (!field || name.startsWith("was.")) continue;
      if (field.type === "checkbox") field.checked = Boolean(value);
      else field.value = value;
      // Of several keys of one name, the form has a list, which hears nothing.
      (field instanceof RadioNodeList ? field[0] : field).dispatchEvent(new Event("change", { bubbles: true }));
    }
  };

  // --- Saving -------------------------------------------------------------------------------------------------------------------
  // The form is a new one as soon as what was typed is on the phone. What the book says of it comes after.
  const save = async (kept) => {
    const { values, files } = split(new FormData(form)), ref = form.elements.ref.value;
    const entry = { ref, kind: form.dataset.log, to: location.pathname, words: inWords(), values, when: new Date().toISOString() };
    await outbox.add(kept, entry, files.length || !putting ? files : await outbox.filesOf(putting));
    [last, saved] = [ref, entry];
    await renew();
    say("Saved on this phone.");
    focusFirst();
    outbox.send();
    const worker = navigator.serviceWorker && await navigator.serviceWorker.getRegistration();
    if (worker && worker.sync) worker.sync.register("send").catch(() => {});
  };

  const hear = async ({ what, ref, answer: told }) => {
    if (what === "wiped" && (last || document.body.dataset.member === undefined)) tellSignedOut();
    else if (what === "kit" && isOthers(await outbox.kit())) { if (!isTouched) location.reload(); }
    else if (what === "kit" && !isTouched) await fit();
    else if (what === "rested" && last && await outbox.kit()) await tellWaiting();
    else if (last && ref === last) {
      if (what === "sent") { last = ""; tellSent(told, saved && told.is_new ? await outbox.dropAnswered(saved) : []); outbox.fetchKit((await outbox.kit()).member); }
      if (what === "refused") { last = ""; if (isTouched) say("The book asks about what you saved last.", linkTo(["Put it right", `#${ref}`])); else location.hash = ref; }
    }
  };

  const submitted = async (pressed) => {
    heed(pressed);
    const kept = await outbox.kit() || await outbox.fetchKit(member);
    if (isOthers(kept)) return say("Somebody else has signed in on this phone. Nothing is saved.", linkTo(["Start again", location.pathname]));
    if (kept) {
      const errors = faults();
      if (Object.keys(errors).length) return showRefusal({ errors });
      const asked = book.plausible ? book.plausible(form, await fullKit(kept)) : {};
      return Object.keys(asked).length ? showRefusal({ questions: asked }) : save(kept);
    }
    if (kept === null) return say("No signal, and this phone keeps nothing of yours yet. What you typed is still here.");
    // Nobody to seal it for: the form goes the way it goes without script, which leads on to signing in.
    return form.submit();
  };
  const submit = async (pressed) => {
    const keys = form.querySelectorAll("button[type=submit]");
    for (const one of keys) one.disabled = true;
    try {
      await submitted(pressed);
    } catch (fault) {
      console.error(fault);
      say("This could not be saved on the phone. What you typed is still here.", key("Send it now", () => form.submit()));
    } finally {
      for (const one of keys) one.disabled = false;
    }
  };

  form.addEventListener("input", () => { isTouched = true; });
  let pressed = null;
  form.addEventListener("click", (event) => { pressed = event.target.closest("button"); });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const by = event.submitter || pressed;
    pressed = null;
    submit(by);
  });

  // What came back, or waits, opens here to be put right: its reference stands in the address.
  const open = async () => {
    const ref = location.hash.slice(1);
    await fit();
    const found = ref && (await outbox.list()).find(({ row }) => row.ref === ref);
    if (!found || !found.entry) return;
    putting = found;
    said.replaceChildren();
    fill(found.entry.values);
    form.sent = form.weekOf = "-";
    await fit();
    fill(found.entry.values);
    form.elements.ref.value = ref;
    const { answer: told, files } = found.entry;
    if (files.length) say(files.length === 1 ? "Its file is kept with it." : `Its ${files.length} files are kept with it.`);
    if (told) showRefusal(told);
  };
  outbox.listen(hear);
  // The page that the worker keeps has none, and one that Back brings may have one that is taken.
  form.elements.ref.value = uuid();
  window.addEventListener("hashchange", open);
  open();
})();
