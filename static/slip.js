// What is typed on a log page: Enter moves on and the last one saves, two figures of a fill give the third, a week has
// steppers, a category brings what it covers. `book.fit` fits a form to what the phone keeps of its member, the kit;
// `book.ask` draws questions below their rows; `book.make` makes an element.
(() => {
  "use strict";
  const book = (self.book = self.book || {});
  const DAY = 864e5;
  const make = book.make = (name, words, more) => Object.assign(document.createElement(name), { textContent: words }, more);
  const all = (form, what) => Array.from(form.querySelectorAll(what));
  const saves = (form) => form.querySelector(".keys button[type=submit]");
  const iso = (day) => day.toISOString().slice(0, 10);
  const dayOf = (text) => new Date(`${text}T00:00Z`);
  const later = (text, days) => iso(new Date(dayOf(text).getTime() + days * DAY));
  const today = () => { const now = new Date(); return iso(new Date(now.getTime() - now.getTimezoneOffset() * 6e4)); };
  const put = (field, value) => {
    if (!field || field.value === value) return;
    field.value = value;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  };
  const touched = new WeakSet();
  const small = (form, name, words) => {
    const label = form.querySelector(`label[for=id_${name}]`);
    if (!label) return;
    const there = label.querySelector("small") || label.appendChild(document.createElement("small"));
    there.textContent = words;
  };

  // --- Enter ------------------------------------------------------------------------------------------------------------
  document.addEventListener("keydown", (event) => {
    const field = event.target, form = field.form;
    if (event.key !== "Enter" || event.isComposing || !form || !form.matches("[data-log]") || !field.matches("input:not([type=submit])")) return;
    event.preventDefault();
    const turns = all(form, "input[enterkeyhint]").filter((one) => !one.disabled && one.offsetParent && one.dataset.aside === undefined);
    const next = turns.find((one) => one.compareDocumentPosition(field) & Node.DOCUMENT_POSITION_PRECEDING);
    if (next && field.getAttribute("enterkeyhint") !== "done") {
      next.focus();
      next.select();
    } else saves(form).click();
  });

  // --- The third figure of a fill ---------------------------------------------------------------------------------------
  // A figure in units of 10 to the power of minus places, or null. All sums below are of whole numbers, so they are exact.
  const scaled = (field, places) => {
    const bare = field ? field.value.replace(/[\s£]/g, "") : "";
    if (!/^(\d+|\d{1,3}(,\d{3})+)?(\.\d*)?$/.test(bare) || !/\d/.test(bare)) return null;
    const [whole, part = ""] = bare.replace(/,/g, "").split(".");
    return part.length > places ? null : Number(whole + part.padEnd(places, "0"));
  };
  const halfUp = (one, other) => Math.floor((2 * one + other) / (2 * other));
  const third = (form) => {
    const { amount, quantity, unit_price: price } = form.elements;
    if (!price) return;
    const paid = scaled(amount, 2), bought = scaled(quantity, 3), each = scaled(price, 2);
    const shown = (figure, places) => (figure / 10 ** places).toFixed(places);
    amount.placeholder = paid === null && bought !== null && each !== null && !amount.value ? shown(halfUp(bought * each, 1e5), 2) : "";
    quantity.placeholder = bought === null && paid !== null && each && !quantity.value ? String(halfUp(paid * 1e5, each) / 1e3) : "";
    price.placeholder = each === null && paid !== null && bought && !price.value ? shown(halfUp(paid * 1e4, bought), 1) : "";
  };

  // --- A week of lessons -----------------------------------------------------------------------------------------------
  const count = (field) => (/^\s*\d+\s*$/.test(field.value) ? Number(field.value) : 0);
  const hoursIn = (minutes) => `${Math.floor(minutes / 60) || (minutes % 60 ? "" : "0")}${["", "¼", "½", "¾"][(minutes % 60) / 15] || ""}`;
  const hours = (minutes) => (minutes % 15 ? String(Math.round(minutes / 0.6) / 100) : hoursIn(minutes));
  const drawWeek = (form) => {
    const minutes = Number(form.elements.lesson_minutes.value) || 60;
    let lessons = 0, inBook = 0, isToSave = false, logged = false;
    for (const line of all(form, ".week > li")) {
      const field = line.querySelector("input"), now = count(field), { proposed, logged: was } = line.dataset;
      const same = was !== undefined && (field.value === was || !field.value);
      logged = logged || same;
      if (same) inBook += was ? Number(was) : NaN;
      else if (!field.disabled && field.value) { lessons += now; isToSave = true; }
      const full = proposed === undefined || touched.has(field) ? now : 0;
      const most = Math.max(full, field.disabled ? 0 : Number(proposed) || 0);
      line.classList.toggle("proposed", full < now);
      const blocks = [];
      for (let at = 0; at < Math.min(most * minutes, 720); at += 60) {
        const block = document.createElement("i"), left = Math.min(60, most * minutes - at);
        block.className = `${at < full * minutes ? "full" : ""} ${left < 60 ? PARTS[Math.round(left / 15)] : ""}`.trim();
        blocks.push(block);
      }
      line.querySelector(".blocks").replaceChildren(...blocks);
    }
    const counted = (number) => `${number} lesson${number === 1 ? "" : "s"}`, { minutes: booked, miles: driven } = form.querySelector(".week").dataset;
    const { private_miles: own } = form.elements;
    own.placeholder = logged && !isToSave && driven !== undefined ? Number(driven).toLocaleString("en-GB") : "";
    if (logged && !isToSave) {
      // The private miles of lessons that are in the book may come alone.
      const rest = own.value.trim() && own.value.trim() !== driven ? "in the book" : "nothing to save";
      small(form, "hours", isNaN(inBook) ? rest : `${counted(inBook)}${rest[0] === "n" ? "," : ""} ${rest}`);
      form.elements.hours.placeholder = booked === undefined ? "" : hours(Number(booked));
      return;
    }
    small(form, "hours", counted(lessons) + (logged ? " to save" : ""));
    form.elements.hours.placeholder = hours(lessons * minutes);
  };
  const PARTS = ["q1", "q1", "q2", "q3", ""];
  const step = (button) => {
    const field = button.parentElement.querySelector("input");
    if (field.disabled) return;
    touched.add(field);
    put(field, String(Math.max(0, count(field) + Number(button.dataset.step))));
  };
  const noLessons = (form) => {
    for (const line of all(form, ".week > li")) {
      const field = line.querySelector("input");
      touched.add(field);
      if (!field.disabled && line.dataset.logged === undefined) put(field, "0");
    }
    put(form.elements.hours, "");
    put(form.elements.private_miles, "0");
  };

  // --- What a cost covers ------------------------------------------------------------------------------------------------
  const addMonths = (text, months) => {
    const day = dayOf(text), at = day.getUTCDate();
    day.setUTCDate(1);
    day.setUTCMonth(day.getUTCMonth() + months);
    day.setUTCDate(Math.min(at, new Date(Date.UTC(day.getUTCFullYear(), day.getUTCMonth() + 1, 0)).getUTCDate()));
    return iso(day);
  };
  // The days that are proposed, as `costing/core/cover.py` finds them, and where they come from.
  const daysOf = ({ months, follows, ends, late }, paid) => {
    if (ends && ends >= paid) return [paid, ends, "", "the end of the agreement"];
    const runsOn = follows && follows >= later(paid, -late - 1), first = runsOn ? later(follows, 1) : paid;
    return [first, later(addMonths(first, months), -1), first === paid ? "" : "the day after the old cover", ends === undefined ? "" : "in three years"];
  };
  const cover = (form) => {
    const fold = form.querySelector("#cover"), { covers } = form.kit || {};
    const chosen = form.elements.category && form.elements.category.value;
    if (!fold || !covers || !chosen) return;
    const rule = covers.categories[chosen] || {}, names = ["covers_from", "covers_to", "covers_miles"];
    const own = names.some((name) => touched.has(form.elements[name])) || form.elements.covers_nothing.checked;
    for (const part of all(form, "[data-covers]")) {
      const of = part.dataset.covers;
      part.hidden = of === "tuition" ? !rule.tuition : of === "asked" ? !rule.covers : Boolean(rule.covers && rule.covers !== of);
    }
    fold.querySelector(".hint").hidden = Boolean(rule.covers);
    fold.open = Boolean(rule.covers) || own;
    if (own) return;
    const of = covers.cars[form.elements.car.value] || {}, paid = form.elements.paid_on.value || today();
    const [first, last, follows, ends] = rule.covers === "days" ? daysOf({ ...rule, ...of[chosen], late: covers.late }, paid) : ["", "", "", ""];
    put(form.elements.covers_from, first);
    put(form.elements.covers_to, last);
    put(form.elements.covers_miles, rule.covers === "miles" ? String(covers.miles) : "");
    small(form, "covers_from", follows);
    small(form, "covers_to", ends);
  };

  // --- The form of whoever keeps this phone's kit ---------------------------------------------------------------------------
  const carOf = (form) => form.kit.cars.find(({ mark }) => mark === form.elements.car.value) || form.kit.cars[0];
  const fitCar = (form) => {
    const car = form.kit && carOf(form);
    if (!car) return;
    const stop = document.querySelector("[data-stopped]"), isTold = document.querySelector("#standing .stop");
    if (stop) {
      stop.hidden = !car.stopped || Boolean(isTold);
      stop.querySelector("[data-words]").textContent = `${car.shown} is off the road: ${car.stopped}.`;
    }
    if (form.elements.odometer) {
      small(form, "odometer", car.lately || "");
      small(form, "quantity", car.usual ? `usual ${car.usual}` : "");
      small(form, "unit_price", "");
      const { what, units, price, brimmed, about, gap } = car.words;
      for (const [name, words] of [["quantity", units], ["unit_price", price]]) {
        form.elements[name].nextElementSibling.textContent = words;
        form.querySelector(`label[for=id_${name}] .sr`).textContent = `, in ${words}`;
      }
      form.querySelector("label[for=id_quantity]").firstChild.data = what;
      for (const [name, words] of [["brimmed", brimmed], ["gap_before", gap]]) form.querySelector(`label[for=id_${name}] span`).textContent = words;
      form.querySelector("#id_brimmed_helptext").textContent = about;
      const row = form.querySelector("fieldset.row");
      if (row) row.hidden = row.disabled = car.fuel !== "plugin_hybrid";
    }
    if (form.elements.lesson_minutes) fitWeek(form, form.kit.week, car);
    cover(form);
  };
  const mondayOf = (text) => {
    const day = text && dayOf(text);
    return day && !isNaN(day) ? later(text, -((day.getUTCDay() + 6) % 7)) : "";
  };
  // The week of a form that has none yet, or of another car: what is in the book of it, and what is proposed.
  const fitWeek = (form, week, { mark }) => {
    const of = week.cars[mark], lines = all(form, ".week > li");
    if (!of || form.weekOf === mark) return;
    form.weekOf = mark;
    const logged = { ...of.logged, ...form.sent }, isOwn = (day) => of.own.some(([first, last]) => (!first || first <= day) && (!last || day <= last));
    const asked = mondayOf(new URLSearchParams(location.search).get("week")), now = mondayOf(today());
    const isOpen = [-7, -6, -5, -4, -3, -2, -1].some((days) => isOwn(later(now, days)) && logged[later(now, days)] === undefined);
    const monday = (form.elements.week.value = form.elements.week.value || (asked <= now && !form.sent && asked) || (isOpen ? later(now, -7) : now));
    const shown = { day: "numeric", month: "long", timeZone: "UTC" };
    const title = document.querySelector("[data-week]");
    const sunday = later(monday, 6), said = (day) => dayOf(day).toLocaleDateString("en-GB", shown);
    title.textContent = `${monday.slice(0, 7) === sunday.slice(0, 7) ? dayOf(monday).getUTCDate() : said(monday)} to ${said(sunday)}`;
    for (const link of all(form, "[data-weeks]")) {
      const to = later(monday, Number(link.dataset.weeks));
      link.href = `?week=${to}&car=${mark}`;
      link.hidden = to > today();
    }
    form.elements.lesson_minutes.value = week.minutes;
    lines.forEach((line, number) => {
      const field = line.querySelector("input"), day = later(form.elements.week.value, number), was = logged[day];
      line.dataset.day = day;
      delete line.dataset.logged;
      delete line.dataset.proposed;
      if (!touched.has(field)) field.value = "";
      line.querySelector("small").textContent = dayOf(day).toLocaleDateString("en-GB", { day: "numeric", month: "short", timeZone: "UTC" });
      field.disabled = day > today() || !isOwn(day);
      for (const told of all(line, "small.quiet")) told.hidden = was === undefined;
      if (was !== undefined) line.dataset.logged = was === null ? "" : was;
      else if (!field.disabled) line.dataset.proposed = of.pattern[number];
      if (!field.disabled && !field.value) field.value = was === undefined ? of.pattern[number] : was === null ? "" : was;
    });
    const own = (((form.kit.limits || {}).week || {})[mark] || { days: [] }).days.filter(([first, last]) => first <= sunday && monday <= last);
    const list = form.querySelector(".week");
    // Minutes and miles that are not known, or of a record with other days, are no sum of this week's.
    for (const [name, place] of [["minutes", 3], ["miles", 4]]) {
      delete list.dataset[name];
      if (own.length && own.every((one) => one[place] !== null && monday <= one[0] && one[1] <= sunday)) list.dataset[name] = own.reduce((sum, one) => sum + one[place], 0);
    }
    const as = lines.every((line) => line.dataset.proposed === undefined) ? "" : of.pattern.some(Boolean) ? "before" : "first";
    for (const words of all(document, "[data-as]")) words.hidden = words.dataset.as !== as;
    for (const none of all(form, "[name=none]")) none.hidden = !as;
    drawWeek(form);
  };
  const offerCars = (form, cars) => {
    const field = form.elements.car;
    if (!field || field.options === undefined || field.options.length) return;
    for (const { mark, shown } of cars) field.append(make("option", shown, { value: mark }));
    put(field, new URLSearchParams(location.search).get("car") || cars[0].mark);
    if (!field.value) field.value = cars[0].mark;
  };
  const offerCategories = (form, categories) => {
    const [large, rest] = all(form, ".picks.large > div");
    if (!large) return;
    const keys = new Map(all(form, ".picks.large label").map((label) => [label.querySelector("input").value, label]));
    const most = large.children.length;
    categories.forEach(([name], place) => keys.has(name) && (place < most ? large : rest).append(keys.get(name)));
  };
  book.fit = (form, kit) => {
    // The page that the worker keeps has a form for everybody; the book's own says what comes before the first one.
    if (!kit.cars.length) {
      if (!location.search && !document.body.dataset.member) location.replace("?car=");
      return;
    }
    const again = form.kit === kit;
    form.kit = kit;
    offerCars(form, kit.cars);
    if (!again) offerCategories(form, kit.categories);
    if (form.elements.csrfmiddlewaretoken) form.elements.csrfmiddlewaretoken.value = kit.token;
    for (const field of all(form, ".set input[type=date]")) {
      field.max = today();
      if (!field.value || field.value < "1980") field.value = today();
    }
    if (form.elements.lesson_minutes && !form.weekOf && form.elements.week.value) form.weekOf = carOf(form).mark;
    fitCar(form);
    third(form);
  };

  // --- Questions --------------------------------------------------------------------------------------------------------------
  const key = (words, name, value, rank) => make("button", words, { type: "submit", name, value, className: `key${rank}` });
  book.ask = (form, questions) => {
    for (const [name, { key: answer, why, meanings, may_be_right: mayBe, right, link }] of Object.entries(questions)) {
      // What is of no row of its own is asked below the week, or below the first row.
      const below = form.querySelector(`#id_${name}_words`) || form.querySelector("#id_how_words") || form.querySelector(".live");
      if (!below) continue;
      const box = make("div", "", { className: `ask${mayBe ? "" : " wrong"}`, id: `id_${name}_question` });
      const answers = make("p", "", { className: "answers" });
      meanings.forEach(({ changes, words }, place) => answers.append(key(words, "meant", new URLSearchParams(changes).toString(), place ? " second" : "")));
      if (mayBe) answers.append(key(right, "is_right", answer, " second"));
      if (link) answers.append(make("a", link.words, { href: link.address, className: "key third" }));
      box.setAttribute("role", "group");
      box.setAttribute("aria-label", `A question about ${name.replace(/_/g, " ")}`);
      box.append(...(why ? [make("p", why)] : []), answers);
      for (const before of all(below, ".ask")) if (before.getAttribute("role") === "group") before.remove();
      below.append(box);
      const field = form.elements[name];
      if (field && field.setAttribute) field.setAttribute("aria-describedby", box.id);
    }
  };

  // --- What is touched ----------------------------------------------------------------------------------------------------------
  const redraw = (form) => {
    third(form);
    if (form.elements.lesson_minutes) drawWeek(form);
  };
  document.addEventListener("input", ({ target }) => {
    const { form } = target;
    if (!form || !form.matches("[data-log]")) return;
    touched.add(target);
    if (target.name === "car") fitCar(form);
    if (target.name === "category" || target.name === "paid_on") cover(form);
    redraw(form);
  });
  document.addEventListener("change", ({ target }) => { if (target.form && target.form.matches("[data-log]")) redraw(target.form); });
  // Days that the book has already, as they stand there, are not sent again with the others of their week.
  document.addEventListener("formdata", ({ target, formData }) => {
    const lines = all(target, ".week > li").map((line) => [line.dataset.logged, line.querySelector("input")]);
    const isSame = ([was, field]) => was !== undefined && field.value === was;
    if (lines.some((one) => one[1].value && !isSame(one))) for (const one of lines.filter(isSame)) formData.delete(one[1].name);
  });
  document.addEventListener("reset", ({ target }) => {
    for (const field of target.elements) touched.delete(field);
    // A week that was saved is in the book for the form that comes next, whatever the kit knows of it yet.
    const { how, leave_out: left } = target.elements, isMore = Boolean(how) && how.value === "add", lines = all(target, ".week > li[data-day]");
    const others = lines.filter((line) => line.querySelector("input").value && line.querySelector("input").value !== line.dataset.logged);
    for (const line of left && left.value ? [] : others.length ? others : lines) {
      const field = line.querySelector("input"), had = isMore ? Number(line.dataset.logged || 0) : 0;
      if (field.value) target.sent = { ...target.sent, [line.dataset.day]: had + Number(field.value) };
    }
    // A hidden field keeps its value: the next week is that of the kit.
    if (target.elements.week) target.elements.week.value = target.weekOf = "";
    setTimeout(() => target.matches("[data-log]") && redraw(target));
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-log] button"), pick = event.target.closest(".picks.large label");
    if (button && button.dataset.step) step(button);
    if (event.target.matches(".week input")) event.target.select();
    if (button && button.name === "none") {
      event.preventDefault();
      noLessons(button.form);
      saves(button.form).click();
    }
    // A tap, not an arrow key, on what the cost is for: next comes what was paid.
    if (pick && event.detail) setTimeout(() => pick.closest("form").elements.amount.focus());
  });
  // This file is not deferred: whoever sees the first field can already press Enter, which would send half a form.
  document.addEventListener("DOMContentLoaded", () => {
    for (const form of document.querySelectorAll("form[data-log]")) {
      for (const button of all(form, "[data-step]")) button.hidden = false;
      redraw(form);
    }
  });

  // Back never shows what was typed before: a page that the browser kept is asked for again.
  window.addEventListener("pageshow", (event) => { if (event.persisted) window.location.reload(); });
})();
