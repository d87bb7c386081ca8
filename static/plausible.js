// What is plausible: the same comparison of an entry with its limits as in costing/core/plausible, for a page without a
// signal. Limits and words come with the kit; this file knows no history and no law. tests/browser holds both together.
(() => {
  "use strict";
  const book = (self.book = self.book || {});
  const FAR = 1e9, POINT = 0, NEIGHBOUR = 1, DIGIT = 2, OTHER = 3;
  const floor = (a, b) => Math.floor(a / b);
  const nth = (day) => Date.parse(day) / 864e5;
  const iso = (n) => new Date(n * 864e5).toISOString().slice(0, 10);
  const between = (first, last) => nth(last) - nth(first);
  const later = (day, days) => iso(nth(day) + days);
  const ymd = (year, month, day) => {
    const made = new Date(Date.UTC(year, month - 1, day));
    return year > 0 && made.getUTCMonth() === month - 1 && made.getUTCDate() === day ? iso(made / 864e5) : null;
  };
  const months = (day, count) => {
    const [y, m, d] = day.split("-").map(Number);
    return iso(Date.UTC(y, m - 1 + count, Math.min(d, new Date(Date.UTC(y, m + count, 0)).getUTCDate())) / 864e5);
  };
  const check = (field, reason, value, low, middle, high, on, figures, mayBe = true) => ({ field, reason, value, low, middle, high, on, figures, mayBe });
  const met = (one) => one.low <= one.value && one.value <= one.high;

  // --- Slips --------------------------------------------------------------------------------------------------------
  const asText = (value, places) => {
    if (!places) return String(value);
    const digits = String(value).padStart(places + 1, "0");
    return `${digits.slice(0, -places)}.${digits.slice(-places)}`.replace(/0+$/, "").replace(/\.$/, "");
  };
  const undone = (value, places) => {
    const seen = new Set([value, 0]), found = [], unit = 10 ** places;
    // Without its point or a nought a number may have a fraction: nobody meant it rounded.
    const exact = [10, 100].filter((times) => value % times === 0).map((times) => value / times).filter((one) => one % unit);
    const isRounded = (meant) => meant % unit === 0 && exact.some((one) => Math.abs(meant - one) < unit);
    const put = (rank, meant) => { if (!seen.has(meant) && !isRounded(meant)) { seen.add(meant); found.push([rank, meant]); } };
    const read = (rank, text) => {
      const [whole, fraction = ""] = text.split(".");
      if (whole && fraction.length <= places && (whole === "0" || whole[0] !== "0")) put(rank, Number(whole + fraction.padEnd(places, "0")));
    };
    for (const times of [10, 100]) {
      if (value % times === 0) put(POINT, value / times);
      put(POINT, value * times);
    }
    const text = asText(value, places), at = [...text].map((char, place) => (char === "." ? -1 : place)).filter((place) => place >= 0);
    at.slice(0, -1).forEach((place, number) => {
      const after = at[number + 1], amid = text.slice(place + 1, after);
      read(NEIGHBOUR, text.slice(0, place) + text[after] + amid + text[place] + text.slice(after + 1));
      if (text[place] === text[after]) read(NEIGHBOUR, text.slice(0, place) + amid + text.slice(after));
    });
    for (const place of at) read(DIGIT, text.slice(0, place) + text.slice(place + 1));
    for (let place = 1; place <= text.length; place++) for (let digit = 0; digit < 10; digit++) read(DIGIT, text.slice(0, place) + digit + text.slice(place));
    for (const place of at) for (let digit = 0; digit < 10; digit++) read(OTHER, text.slice(0, place) + digit + text.slice(place + 1));
    return found;
  };
  const daysMeant = (day) => {
    const [y, m, d] = day.split("-").map(Number);
    return [[POINT, y + 1, m, d], [POINT, y - 1, m, d], [NEIGHBOUR, y, d, m], [DIGIT, y, m + 1, d], [DIGIT, y, m - 1, d], [DIGIT, y + 1, d, m], [OTHER, y + 10, m, d], [OTHER, y - 10, m, d]]
      .map(([rank, ...parts]) => [rank, ymd(...parts)]).filter(([, meant]) => meant && meant !== day);
  };

  // --- Weighing -----------------------------------------------------------------------------------------------------
  const weigh = (typed, checks, candidates, write) => {
    const faults = checks(typed).filter((one) => !met(one));
    if (!faults.length) return [];
    const reasons = new Set(faults.map((one) => one.reason)), tried = [];
    candidates().forEach(([rank, changes, name = ""], place) => {
      const checked = checks({ ...typed, ...changes }), left = new Set(checked.filter((one) => !met(one)).map((one) => one.reason));
      if (checked.some((one) => !met(one) && !one.mayBe && !reasons.has(one.reason))) return;
      const raised = [...left].filter((one) => !reasons.has(one)).length;
      if (left.size > reasons.size || [...reasons].every((one) => left.has(one))) return;
      const off = checked.reduce((sum, one) => sum + Math.min(floor(1000 * Math.abs(one.value - one.middle), Math.max(1, one.high - one.low + 1)), FAR), 0);
      tried.push({ sort: [raised, left.size, rank, off, place], left, changes, name });
    });
    tried.sort((a, b) => { for (let n = 0; n < 5; n++) if (a.sort[n] !== b.sort[n]) return a.sort[n] - b.sort[n]; return 0; });
    // Two slips may lead to the same: the more usual one counts.
    const seen = new Set(), isNew = (key) => !seen.has(key) && Boolean(seen.add(key));
    const fits = tried.filter((fit) => isNew(JSON.stringify(fit.changes)));
    let whole = fits.filter((fit) => !fit.left.size);
    // To leave it out is no answer to what else is asked: it is one way among others.
    if (whole.length < fits.length && faults.length > 1 && whole.every((fit) => "leave_out" in fit.changes)) whole = [];
    const at = whole.length && (Object.keys(whole[0].changes).find((name) => name.endsWith("_on") || Number.isInteger(typed[name])) || faults[0].field);
    return faults.map((fault) => ({
      field: at || fault.field,
      reason: fault.reason,
      figures: fault.figures,
      key: `${fault.reason}:${fault.on.map((name) => write(name, typed[name]).replace(/ /g, "_")).join("|")}`,
      meanings: (whole.length ? whole : fits).filter((fit) => !fit.left.has(fault.reason)).slice(0, 3)
        .map(({ changes, name }) => ({ name, changes: Object.fromEntries(Object.entries(changes).map(([field, value]) => [field, write(field, value)])) })),
      may_be_right: fault.mayBe,
    })).sort((a, b) => a.may_be_right - b.may_be_right);
  };
  const written = (places) => (field, value) => {
    if (!Number.isInteger(value)) return value || "";
    if (field === "hours" || field === "minutes") return (value * 100) % 60 ? `${floor(value, 60)}:${String(value % 60).padStart(2, "0")}` : asText((value * 100) / 60, 2);
    const text = asText(value, places[field] || 0);
    return field === "amount" && text[text.length - 2] === "." ? `${text}0` : text;
  };

  // --- Days and odometers -------------------------------------------------------------------------------------------
  const dayChecks = (typed, limits, field) => {
    const day = typed[field], { today, latest, first } = limits, [y, m, d] = day.split("-"), turned = `${y}-${d}-${m}`, figures = { day, today }, on = [field];
    const near = d <= 12 && d !== m ? between(turned, today) : -1;
    const found = [
      check(field, "day_ahead", between(day, today), 0, 0, FAR, on, figures, false),
      check(field, "day_old", between(day, today), -FAR, 0, 1830, on, figures),
    ];
    if (latest) found.push(check(field, "day_back", between(day, latest), -FAR, 0, near >= 0 && near <= 10 ? 14 : 60, on, { ...figures, latest }));
    else if (first) found.push(check(field, "day_first", between(first, day), 0, 200, FAR, on, figures));
    return found;
  };
  const dayCandidates = (typed, limits, field) => {
    const odd = dayChecks(typed, limits, field).some((one) => !met(one));
    const found = daysMeant(typed[field]).filter(([rank, meant]) => meant <= limits.today && (odd || rank < DIGIT)).map(([rank, meant]) => [rank, { [field]: meant }]);
    return odd ? [...found, [OTHER, { [field]: limits.today }]] : found;
  };
  const lastBefore = (readings, day) => readings.filter(([on]) => on < day).pop();
  const odometerChecks = (typed, { readings, tenths_a_day: pace, most_tenths: most }) => {
    const miles = typed.odometer, day = typed.filled_on, on = ["odometer", "filled_on"], found = [];
    const before = lastBefore(readings, day), after = readings.find(([one]) => one > day);
    const same = readings.find(([one]) => one === day);
    if (same) found.push(check("odometer", "odometer_day", miles - same[1], -480, 0, FAR, on, { last: same[1], day }, false));
    if (!before) found.push(check("odometer", "odometer_most", miles, 0, 5e4, 3e5, ["odometer"], { miles }));
    else {
      const days = between(before[0], day), expected = floor(pace * days, 10), run = miles - before[1], usual = floor(pace, 10);
      const since = { miles: run, last: before[1], since: before[0], day };
      found.push(check("odometer", "odometer_low", run, 0, expected, FAR, on, since, false));
      found.push(check("odometer", usual ? "odometer_far" : "odometer_far_new", run, -FAR, expected, 450 + floor(most * days, 10), on, { ...since, usual }));
    }
    if (after) found.push(check("odometer", "odometer_high", after[1] - miles, 0, 0, FAR, on, { next: after[1], then: after[0], day }, false));
    return found;
  };
  const odometerCandidates = (typed, { readings }) => {
    const miles = typed.odometer, found = undone(miles, 0).map(([rank, value]) => [rank, { odometer: value }]);
    for (const one of [readings.find(([day]) => day === typed.filled_on), lastBefore(readings, typed.filled_on)]) {
      if (!one || miles >= one[1]) continue;
      if (miles <= 1500) found.push([NEIGHBOUR, { odometer: one[1] + miles }]);
      const round = 10 ** String(miles).length, front = one[1] - (one[1] % round) + miles;
      found.push([DIGIT, { odometer: front >= one[1] ? front : front + round }]);
    }
    return found;
  };

  // --- A fill -------------------------------------------------------------------------------------------------------
  const nearest = (paid, seen) => {
    const one = seen.reduce((best, price) => (best === null || Math.abs(price - paid) < Math.abs(best - paid) ? price : best), null) || 0;
    return [one, one ? floor(1000 * Math.abs(one - paid), one) : FAR];
  };
  const priceRange = (paid, { prices: [low, middle, high], seen, lately, is_litre: litre }) => {
    let [near, off] = nearest(paid, seen);
    const [same, alike] = litre ? [20, 80] : [8, 8];
    for (const meant of [paid * 10, floor(paid, 10)]) {
      const [other, otherOff] = nearest(meant, seen);
      if (otherOff <= (off > 30 ? same : -1) || (off > 80 && otherOff <= alike)) return [other, other, other];
    }
    if (litre) near = middle = lately.length ? lately[0] : middle;
    return off <= 80 ? [Math.min(low, paid), near, Math.max(high, paid)] : [low, middle, high];
  };
  const isSameFill = (typed, [day, miles, amount, quantity]) => {
    const same = (typed.amount === amount) + (typed.quantity === quantity) + (typed.odometer === miles), apart = Math.abs(between(day, typed.filled_on));
    return same >= 2 && (miles === typed.odometer ? apart <= 7 : apart === 0 && Math.abs(miles - typed.odometer) <= 20);
  };
  const fillChecks = (typed, limits) => {
    if (typed.leave_out) return [];
    const { amount, quantity, unit } = typed, own = limits.units[unit], bought = ["amount", "quantity"], paid = floor(10000 * amount, quantity);
    const found = [check("filled_on", "same_fill", limits.fills.filter((one) => isSameFill(typed, one)).length, 0, 0, 0, ["filled_on", ...bought], { paid: amount, quantity })];
    found.push(...odometerChecks(typed, limits.odometer), ...dayChecks(typed, limits, "filled_on"));
    const figures = { paid: amount, quantity, price: paid, usual: own.prices[1] };
    if (!amount) found.push(check("amount", `nothing_paid_${unit}`, 0, own.free ? 0 : 1, 1, FAR, bought, figures));
    else {
      const [low, middle, high] = priceRange(paid, own);
      found.push(check("amount", own.seen.length ? `price_${unit}` : `price_${unit}_new`, paid, low, middle, high, bought, { ...figures, usual: middle }));
    }
    found.push(check("quantity", `much_${unit}`, quantity, 0, floor(own.most, 2), own.most, ["quantity"], { quantity, most: own.most }));
    const { run, slack } = own;
    if (run && !typed.gap_before && typed.filled_on >= run.on && typed.odometer >= run.brim) {
      const [least, middle, most] = own.economy, total = run.put_in + quantity, miles = typed.odometer - run.brim;
      const on = ["odometer", "quantity", "brimmed"], ran = { miles, quantity: total, brim: run.brim }, expected = floor(total * middle, 1e5);
      found.push(check("odometer", `few_${unit}`, miles, floor(Math.max(0, total - slack) * least, 1e5), expected, FAR, on, ran));
      found.push(check("odometer", `many_${unit}`, miles, -FAR, expected, most === FAR ? FAR : floor((total + (typed.brimmed ? slack : own.most)) * most, 1e5), on, ran));
    }
    return found;
  };
  const PLACES = { amount: 2, quantity: 3 };
  const fillCandidates = (typed, limits) => {
    const { amount, quantity, unit } = typed, own = limits.units[unit];
    if (limits.fills.some((one) => isSameFill(typed, one))) return [[POINT, { leave_out: "on" }, "leave_out"]];
    const found = amount && quantity % 10 === 0 ? [[POINT, { amount: quantity / 10, quantity: amount * 10 }, `swap_${unit}`]] : [];
    const other = unit === "litre" ? "kwh" : "litre";
    if (limits.fuel === "plugin_hybrid") found.push([NEIGHBOUR, { unit: other }, `unit_${other}`]);
    found.push(...odometerCandidates(typed, limits.odometer));
    for (const field of ["amount", "quantity"]) for (const [rank, value] of undone(typed[field], PLACES[field])) found.push([rank, { [field]: value }]);
    if (!amount) for (const [rank, usual] of [...own.lately.map((one) => [POINT, one]), [NEIGHBOUR, own.prices[1]]]) found.push([rank, { amount: floor(usual * quantity, 10000) }]);
    if (!typed.gap_before) found.push([DIGIT, { gap_before: "on" }, "gap"]);
    if (typed.brimmed) found.push([DIGIT, { brimmed: "" }, `part_${unit}`]);
    return [...found, ...dayCandidates(typed, limits, "filled_on")];
  };

  // --- A cost -------------------------------------------------------------------------------------------------------
  const COVER = [1, 3, 6, 12];
  const lengthOf = (typed) => (typed.covers_from ? between(typed.covers_from, typed.covers_to) + 1 : 0);
  const last = (covers) => covers.reduce((best, one) => (!best || one[1] > best[1] ? one : best), null);
  const coverChecks = (typed, covers) => {
    const { covers_from: first, covers_to: end, paid_on: paid } = typed, on = ["category", "covers_from", "covers_to"], days = lengthOf(typed);
    const over = covers.filter(([from, to]) => from <= end && first <= to), before = last(covers.filter(([from]) => from < first));
    const twice = over.reduce((most, [from, to]) => Math.max(most, between(from > first ? from : first, to < end ? to : end) + 1), 0);
    const gap = before && before[1] < first ? between(before[1], first) - 1 : 0;
    const figures = { days: Math.max(twice, gap), from: first, to: end, until: over.length ? over[over.length - 1][1] : before ? before[1] : "" };
    const off = days <= 31 && days % 7 === 0 ? 0 : Math.min(...COVER.map((count) => Math.abs(between(first, months(first, count)) - days)));
    const apart = between(first, paid);
    return [
      check("covers_from", "cover_overlap", twice, 0, 0, 1, on, figures),
      check("covers_from", "cover_gap", gap, 0, 0, 0, on, figures),
      check("covers_to", "cover_length", off, 0, 0, 6, on, { days, from: first, to: end }),
      check("covers_from", apart < 0 ? "paid_before" : "paid_after", apart, -62, 0, 62, ["paid_on", "covers_from"], { days: Math.abs(apart), from: first, paid }),
    ];
  };
  const coverCandidates = (typed, covers) => {
    const { covers_from: first, covers_to: end, paid_on: paid } = typed, length = between(first, end), found = [];
    const put = (rank, from, to) => found.push([rank, { covers_from: from, covers_to: to > from ? to : from }, "cover"]);
    const near = (from) => (a, b) => Math.abs(between(from, months(from, a)) - length) - Math.abs(between(from, months(from, b)) - length);
    for (const before of [last(covers.filter(([from]) => from < first)), last(covers)]) {
      if (!before) continue;
      const begin = later(before[1], 1);
      COVER.slice().sort(near(begin)).forEach((count, place) => put(place ? NEIGHBOUR : POINT, begin, later(months(begin, count), -1)));
      put(NEIGHBOUR, begin, later(begin, length));
    }
    for (const count of [12, 1, 3, 6]) put(NEIGHBOUR, first, later(months(first, count), -1));
    for (const [rank, meant] of daysMeant(first)) { put(rank, meant, end); put(rank, meant, later(meant, length)); }
    for (const [rank, meant] of daysMeant(end)) put(rank, first, meant);
    put(DIGIT, paid, later(months(paid, 12), -1));
    return found;
  };
  const isSameCost = (typed, [day, category, pence], limits) =>
    category === typed.category && pence === (typed.refund ? -typed.amount : typed.amount) && Math.abs(between(day, typed.paid_on)) <= limits.categories[category].same_within;
  // The payment of a repeat that a cost of another sum may be: that of the nearest day, then of the nearest sum.
  const awaitedBy = (typed, limits) => {
    // A kit of the release before has none.
    const near = (limits.awaited || []).filter(([, category]) => category === typed.category && !typed.refund)
      .map((one) => [Math.abs(between(one[0], typed.paid_on)), Math.abs(one[2] - typed.amount), one])
      .sort((a, b) => a[0] - b[0] || a[1] - b[1] || (a[2][0] < b[2][0] ? -1 : 1));
    return near.length && near[0][0] <= limits.awaited_within && near[0][1] ? near[0][2] : null;
  };
  const costChecks = (typed, limits) => {
    if (typed.leave_out) return [];
    const { category, amount } = typed, own = limits.categories[category];
    const same = limits.costs.filter((one) => isSameCost(typed, one, limits));
    const found = [check("paid_on", "same_cost", same.length, 0, 0, 0, ["paid_on", "category", "amount"], { amount, category: own.words, day: same.length ? same[same.length - 1][0] : "" })];
    const meant = same.length ? null : awaitedBy(typed, limits);
    if (meant) found.push(check("category", "awaited", typed.in_place_of === meant[3] ? 0 : 1, 0, 0, 0, ["category", "amount", "paid_on"], { day: meant[0], pence: meant[2], category: own.words }));
    if (typed.refund)
      return [...found, check("amount", "refund_unpaid", own.bought, amount, amount, FAR, ["amount", "refund", "category"], { amount, category: own.words, most: own.bought }), ...dayChecks(typed, limits, "paid_on")];
    const yearly = category in limits.covers, days = yearly ? lengthOf(typed) : 0, weight = days ? floor(amount * 365, days) : amount;
    let [low, high] = own.range;
    let middle = floor(low + high, 2), reason = "sum_new";
    if (own.own) {
      [low, high] = [Math.max(low, own.own[0]), Math.min(high, own.own[2])];
      middle = own.own[1];
      reason = own.is_group ? "sum_group" : yearly ? "sum_year" : "sum";
    }
    if (yearly && !days) low = floor(low, 12);
    const beyond = category === "mot" && weight > own.range[1];
    if (own.seen.some((one) => 100 * Math.abs(weight - one) <= 25 * one && (!beyond || one > own.range[1]))) [low, high] = [Math.min(low, weight), Math.max(high, weight)];
    if (beyond) reason = "sum_mot";
    found.push(check("amount", reason, weight, low, middle, high, ["category", "amount", "covers_from", "covers_to"], { amount, category: own.words, days, usual: middle, most: own.range[1] }));
    const { covers_from: from, covers_to: to, covers_miles: miles } = typed, isFirst = yearly && !limits.covers[category].length && from && from <= limits.today && limits.today <= to;
    found.push(...dayChecks(typed, isFirst ? { today: limits.today } : limits, "paid_on"));
    if (miles) found.push(check("covers_miles", "lasts", miles, 3e3, 2e4, 8e4, ["covers_miles"], { miles }));
    return typed.covers_from && yearly ? [...found, ...coverChecks(typed, limits.covers[category])] : found;
  };
  const costCandidates = (typed, limits) => {
    if (limits.costs.some((one) => isSameCost(typed, one, limits))) return [[POINT, { leave_out: "on" }, "leave_out"]];
    const found = [], meant = awaitedBy(typed, limits);
    if (meant) {
      found.push([POINT, { in_place_of: meant[3] }, "in_place"]);
      if (costChecks({ ...typed, in_place_of: meant[3] }, limits).every(met)) return found;
    }
    const of = (test) => new Set(limits.costs.filter(test).map((one) => one[1]));
    if (typed.refund) {
      found.push([NEIGHBOUR, { refund: "", amount: typed.amount }, "paid"]);
      for (const name of of((one) => one[2] === typed.amount)) found.push([POINT, { category: name }, `as_${name}`]);
      for (const name of of((one) => one[2] > typed.amount)) found.push([DIGIT, { category: name }, `as_${name}`]);
    }
    for (const [rank, value] of undone(typed.amount, 2)) found.push([rank, { amount: value }]);
    if (typed.covers_miles) for (const [rank, value] of undone(typed.covers_miles, 0)) found.push([rank, { covers_miles: value }]);
    if (typed.covers_from) found.push(...coverCandidates(typed, limits.covers[typed.category] || []));
    return [...found, ...dayCandidates(typed, limits, "paid_on")];
  };

  // --- A week of lessons --------------------------------------------------------------------------------------------
  const WEEK = [0, 1, 2, 3, 4, 5, 6].map((number) => `day_${number}`);
  const told = (typed) => WEEK.filter((name) => Number.isInteger(typed[name]));
  const lessonsOf = (typed) => (told(typed).length ? told(typed).reduce((sum, name) => sum + typed[name], 0) : null);
  const taken = (typed, limits) => limits.days.filter(([from, to, lessons]) => from <= typed.to_on && typed.from_on <= to && WEEK.some((name, number) => {
    const day = later(typed.from_on, number);
    return Number.isInteger(typed[name]) && from <= day && day <= to && (typed[name] || lessons !== 0);
  }));
  // Whether a record has days that are not told.
  const reachesBeyond = (typed, logged) => {
    const days = told(typed).map((name) => later(typed.from_on, WEEK.indexOf(name)));
    return logged.some(([from, to]) => between(from, to) + 1 > days.filter((day) => from <= day && day <= to).length);
  };
  const dayOf = (typed, name) => later(typed.from_on, WEEK.indexOf(name));
  const sumOf = (records, place) => records.reduce((sum, one) => (sum === null || one[place] === null || one[place] === undefined ? null : sum + one[place]), 0);
  // Whether nothing but the private miles of a week is new.
  const isOnlyPrivate = (typed, limits) => {
    const { how, hours, private_miles: own } = typed, names = told(typed);
    if (how !== "" || own === null || own === undefined || !names.length) return false;
    const records = limits.days.filter(([from, to]) => names.some((name) => from <= dayOf(typed, name) && dayOf(typed, name) <= to));
    if (reachesBeyond(typed, records)) return false;
    for (const name of names) {
      const day = dayOf(typed, name), its = records.filter(([from, to]) => from <= day && day <= to);
      if (!its.length || its.some(([from, to, lessons]) => lessons === null || (lessons && from !== to)) || sumOf(its, 2) !== typed[name]) return false;
    }
    return (hours === null || hours === sumOf(records, 3)) && own !== sumOf(records, 4);
  };
  // The lessons and minutes in the book of a day.
  const hadOn = (day, limits) => limits.days.filter(([from, to]) => from === day && to === day).reduce(([lessons, taught], one) => [lessons + (one[2] || 0), taught + (one[3] || 0)], [0, 0]);
  const weekChecks = (typed, limits, adds) => {
    if (typed.leave_out) return [];
    const { from_on: first, to_on: end, hours: minutes } = typed, count = lessonsOf(typed), days = between(first, end) + 1, on = ["from_on", "to_on", "hours", ...WEEK];
    const found = [];
    if (!typed.how) {
      const logged = taken(typed, limits), isBeyond = reachesBeyond(typed, logged), lessons = logged.reduce((sum, one) => sum + (one[2] || 0), 0);
      const figures = { lessons, first, last: end, ...(isBeyond ? { since: logged[0][0] } : {}) };
      found.push(check("how", isBeyond ? "week_beyond" : "week_taken", logged.length, 0, 0, 0, on, figures, false));
    }
    const taught = minutes === null ? (count || 0) * limits.minutes[1] : minutes;
    for (const name of WEEK.filter((one) => typed[one])) {
      const [had, hadFor] = adds && typed.how === "add" ? hadOn(dayOf(typed, name), limits) : [0, 0], lessons = typed[name] + had, inAll = floor(taught * typed[name], count || 1) + hadFor;
      found.push(check(name, had ? "lessons_day_sum" : "lessons_day", lessons, 0, 5, limits.lessons, [name], { lessons }));
      found.push(check(name, hadFor ? "hours_day_sum" : "hours_day", inAll, 0, 360, limits.day_minutes, [name, "hours"], { minutes: inAll }));
    }
    if (minutes) {
      if (days > 1) found.push(check("hours", "hours_span", minutes, 0, days * 360, days * 900, on, { minutes, days }));
      const [least, middle, most] = limits.minutes, each = count && floor(minutes, count);
      if (count) found.push(check("hours", "lesson_length", each, least, middle, most, on, { minutes, lessons: count, each, usual: middle }));
    }
    return [...found, ...milesChecks(typed, limits, count)];
  };
  const milesChecks = (typed, limits, count) => {
    const { from_on: first, to_on: end, private_miles: own } = typed, days = between(first, end) + 1, found = [];
    const { readings } = limits.odometer, before = lastBefore(readings, first), after = readings.find(([day]) => day >= end);
    if (own) {
      const usual = 450 + floor((limits.odometer.tenths_a_day || 1500) * days, 10), most = limits.private ? Math.min(usual, limits.private * floor(days + 6, 7)) : usual;
      found.push(check("private_miles", "private_far", own, 0, 0, most, ["private_miles", "from_on"], { private: own }));
    }
    if (before && after) {
      const ran = after[1] - before[1], figures = { ran, lessons: count || 0, private: own || 0 };
      if (own) found.push(check("private_miles", "private_much", own, 0, 0, ran + 50, ["private_miles", "from_on"], figures));
      if (count) found.push(check("from_on", "stood_still", ran, count, 20 * count, FAR, ["from_on", "to_on"], figures));
    }
    return found;
  };
  const weekCandidates = (typed, limits) => {
    const logged = taken(typed, limits), minutes = typed.hours, found = [];
    if (logged.length && !typed.how) {
      const isSame = logged.reduce((sum, one) => sum + (one[2] || 0), 0) === lessonsOf(typed);
      if (!reachesBeyond(typed, logged)) found.push([POINT, { how: "replace" }, "week_replace"]);
      found.push([isSame ? DIGIT : POINT, { how: "add" }, "week_add"]);
      if (isSame) found.push([DIGIT, { leave_out: "on" }, "leave_out"]);
    }
    if (logged.length && typed.how === "add" && !reachesBeyond(typed, logged)) found.push([POINT, { how: "replace" }, "week_replace"]);
    if (minutes) {
      for (const [rank, value] of undone(floor(minutes * 100, 60), 2)) found.push([rank, { hours: floor(value * 60, 100) }]);
      const counts = WEEK.filter((name) => typed[name]), count = lessonsOf(typed);
      if (counts.length === 1 && minutes % 60 === 0) found.push([POINT, { [counts[0]]: minutes / 60, hours: count * 60 }, "swap_lessons"]);
      if (count) found.push([NEIGHBOUR, { hours: count * limits.minutes[1] }]);
    }
    return [...found, ...[...WEEK, "private_miles"].flatMap((name) => figuresMeant(typed, name))];
  };
  const figuresMeant = (typed, name) => (typed[name] ? undone(typed[name], 0).map(([rank, value]) => [rank, { [name]: value }]) : []);
  const weekDoubts = (typed, limits) => {
    if (isOnlyPrivate(typed, limits)) return weigh(typed, (tried) => milesChecks(tried, limits, 0), () => figuresMeant(typed, "private_miles"), written({}));
    // To add is offered whatever the sums come to: they are asked about once that is told.
    const adds = typed.how === "add";
    return weigh(typed, (tried) => weekChecks(tried, limits, adds), () => weekCandidates(typed, limits), written({}));
  };

  const ROOMS = { fill: [fillChecks, fillCandidates, PLACES], cost: [costChecks, costCandidates, { amount: 2 }] };
  book.doubts = (kind, typed, limits) => {
    if (kind === "week") return weekDoubts(typed, limits);
    const [checks, candidates, places] = ROOMS[kind];
    return weigh(typed, (tried) => checks(tried, limits), () => candidates(typed, limits), written(places));
  };

  // --- Words --------------------------------------------------------------------------------------------------------
  const whole = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, ",");
  const dated = (day, form) => new Date(`${day}T00:00Z`).toLocaleDateString("en-GB", { timeZone: "UTC", ...form });
  const FULL = { day: "numeric", month: "long", year: "numeric" };
  const near = (day, today) => {
    const days = between(today, day), said = { "-1": "yesterday", 0: "today", 1: "tomorrow" }[days];
    if (said) return said;
    if (Math.abs(days) < 7) return dated(day, { weekday: "long" });
    return dated(day, Math.abs(days) < 300 ? { day: "numeric", month: "long" } : FULL);
  };
  const SHOWN = {
    whole: (figure) => whole(Number(figure)),
    about: (figure) => (figure < 1000 ? SHOWN.pounds(figure) : `£${whole(floor(figure + 50, 100))}`),
    pounds: (figure) => `£${whole(floor(figure, 100))}` + (figure % 100 ? `.${String(figure % 100).padStart(2, "0")}` : ""),
    sum: (figure) => { const [pounds, pence] = String(figure).split("."); return `£${whole(Number(pounds))}` + (pence ? `.${pence.padEnd(2, "0")}` : ""); },
    pence: (figure) => `${floor(figure, 10)}.${figure % 10}p`,
    amount: (figure) => asText(Number(figure), 3),
    hours: (figure) => asText(Math.round((figure * 100) / 60), 2),
    long: (figure) => (figure < 180 ? `${figure} minutes` : `${SHOWN.hours(figure)} hours`),
    taught: (figure) => String(figure).replace(/:0?(\d+)/, " h $1 min").replace(/^[\d.]+$/, (hours) => `${hours} hour${SHOWN.s(hours)}`),
    s: (figure) => (Number(figure) === 1 ? "" : "s"),
    hs: (figure) => (Number(figure) === 60 ? "" : "s"),
    // A year needs no telling, nor does what covers no days.
    part: (figure) => (!figure || figure === 365 || figure === 366 ? "" : `${whole(figure)} day${SHOWN.s(figure)} of `),
    low: (figure) => (/^.[A-Z]/.test(figure) ? figure : figure[0].toLowerCase() + figure.slice(1)),
    date: (figure) => dated(figure, FULL),
    day: near,
  };
  book.fill = (template, figures, today) => {
    const words = template.replace(/\{(\w+)(?::(\w+))?\}/g, (_, name, kind) => (kind ? SHOWN[kind](figures[name], today) : figures[name]));
    return words[0].toUpperCase() + words.slice(1);
  };

  // --- A form -------------------------------------------------------------------------------------------------------
  const THIRD = new Set(["amount", "quantity"]);
  const value = (form, name) => {
    const field = form.elements[name];
    if (!field || field.type === "checkbox") return field && field.checked ? "on" : "";
    // The third figure of a fill stands in its field as what follows from the other two.
    return String(field.value || (THIRD.has(name) && field.placeholder) || "").trim();
  };
  // A number in units of 10 to the power of minus places; null if there is none, NaN if it is none.
  const number = (form, name, places = 0) => {
    const text = value(form, name).replace(/[\s£,]/g, "").replace("−", "-");
    if (!text) return null;
    return /^-?(\d+\.?\d*|\.\d+)$/.test(text) ? Math.round(Number(text) * 10 ** places) : NaN;
  };
  const minutes = (form) => {
    const clock = /^(\d+):([0-5]\d)$/.exec(value(form, "hours"));
    const hours = number(form, "hours", 9);
    return clock ? clock[1] * 60 + Number(clock[2]) : hours === null ? null : Math.round((hours * 60) / 1e9);
  };
  const TYPED = {
    fill: (form, car) => ({
      filled_on: value(form, "filled_on"), odometer: number(form, "odometer"), amount: number(form, "amount", 2), quantity: number(form, "quantity", 3),
      unit: car.fuel === "electric" ? "kwh" : (car.fuel === "plugin_hybrid" && value(form, "unit")) || "litre", brimmed: value(form, "brimmed"), gap_before: value(form, "gap_before"),
    }),
    cost: (form) => {
      const amount = number(form, "amount", 2), covers = value(form, "covers_from") && value(form, "covers_to") && !value(form, "covers_nothing");
      return {
        category: value(form, "category"), amount: Math.abs(amount), refund: amount < 0 ? "on" : value(form, "refund"), paid_on: value(form, "paid_on"),
        covers_from: covers ? value(form, "covers_from") : null, covers_to: covers ? value(form, "covers_to") : null,
        covers_miles: value(form, "covers_nothing") ? null : number(form, "covers_miles"), in_place_of: value(form, "in_place_of"),
      };
    },
    week: (form, car, kit) => {
      const days = Object.fromEntries(WEEK.map((name) => [name, form.elements[name] && form.elements[name].disabled ? null : number(form, name)]));
      const logged = ((kit.week.cars || {})[car.mark] || {}).logged || {}, monday = value(form, "week");
      const others = WEEK.filter((name, place) => days[name] !== null && logged[later(monday, place)] !== days[name]);
      if (others.length) for (const name of WEEK) if (!others.includes(name)) days[name] = null;
      const end = WEEK.reduce((most, name, place) => (days[name] === null ? most : place), 0);
      return { from_on: monday, to_on: later(monday, end), ...days, hours: minutes(form), private_miles: number(form, "private_miles"), how: value(form, "how") };
    },
  };
  // The kit as if the book had what waits on this phone: [{kind, values}], oldest first.
  const ADD = {
    fill: ({ fills, odometer, units }, { filled_on: day, odometer: miles, amount, quantity, unit, brimmed, gap_before: gap }) => {
      odometer.readings.push([day, miles]);
      odometer.readings.sort(([one], [other]) => (one < other ? -1 : one > other ? 1 : 0));
      if (amount !== null && quantity !== null) fills.push([day, miles, amount, quantity]);
      const own = units[unit], since = gap ? null : own.run;
      own.run = brimmed ? { brim: miles, put_in: 0, on: day, miles } : since && { ...since, put_in: since.put_in + (quantity || 0), on: day, miles };
    },
    cost: (limits, { category, amount, refund, paid_on: day, covers_from: from, covers_to: to, in_place_of: paid }) => {
      const { costs, covers } = limits;
      if (refund) return;
      limits.awaited = (limits.awaited || []).filter((one) => one[3] !== paid);
      costs.push([day, category, amount]);
      if (from && covers[category]) covers[category].push([from, to]);
    },
    week: (limits, typed) => {
      const names = told(typed), count = lessonsOf(typed), { hours, private_miles: own } = typed, isOnly = isOnlyPrivate(typed, limits);
      const had = Object.fromEntries(names.map((name) => [name, hadOn(dayOf(typed, name), limits)[1]]));
      if (isOnly || typed.how === "replace") limits.days = limits.days.filter(([from, to]) => !names.some((name) => from <= dayOf(typed, name) && dayOf(typed, name) <= to));
      names.forEach((name, place) => {
        const day = dayOf(typed, name), part = (all) => floor(all * (place + 1), names.length) - floor(all * place, names.length);
        const taught = isOnly ? had[name] : hours === null || !count ? null : floor(hours * typed[name], count);
        limits.days.push([day, day, typed[name], taught, own === null ? null : part(own)]);
      });
    },
  };
  book.withWaiting = (kit, entries) => {
    if (!entries.length) return kit;
    const found = JSON.parse(JSON.stringify(kit));
    for (const { kind, values } of entries) {
      const form = { elements: Object.fromEntries(values.map(([name, value]) => [name, { value }])) }, mark = value(form, "car");
      const limits = ((found.limits || {})[kind] || {})[mark], car = found.cars.find((one) => one.mark === mark);
      if (!limits || !car || value(form, "leave_out")) continue;
      const typed = TYPED[kind](form, car, found);
      if (Object.values(typed).some((one) => Number.isNaN(one))) continue;
      ADD[kind](limits, typed);
      if (kind === "week") {
        const { logged } = found.week.cars[mark] || { logged: {} };
        for (const name of told(typed)) {
          const day = later(typed.from_on, WEEK.indexOf(name));
          logged[day] = (typed.how === "add" && logged[day]) || 0;
          logged[day] += typed[name];
        }
      }
      if (kind === "fill") car.lately = `${whole(typed.odometer)}, not sent yet`;
    }
    return found;
  };

  // The questions about what is typed, by field; none where something is missing or cannot be read: the book refuses that.
  book.plausible = (form, kit) => {
    const kind = form.dataset.log, mark = value(form, "car"), limits = ((kit.limits || {})[kind] || {})[mark], questions = {};
    const car = kit.cars.find((one) => one.mark === mark);
    if (!limits || !car || value(form, "leave_out")) return questions;
    const typed = TYPED[kind](form, car, kit), words = kit.words[kind], shown = {};
    const needed = { fill: ["filled_on", "odometer", "amount", "quantity"], cost: ["category", "amount", "paid_on"], week: ["from_on"] }[kind];
    if (needed.some((name) => typed[name] === null || typed[name] === "") || Object.values(typed).some((one) => Number.isNaN(one) || one < 0) || typed.quantity === 0) return questions;
    const answered = new Set(Array.from(form.querySelectorAll("input[name=is_right]")).flatMap((one) => one.value.split(/\s+/)));
    for (const doubt of book.doubts(kind, typed, { ...limits, today: kit.today })) {
      if (!doubt.may_be_right || !answered.has(doubt.key)) (shown[doubt.field] = shown[doubt.field] || []).push(doubt);
    }
    for (const [field, doubts] of Object.entries(shown)) {
      const [first] = doubts;
      questions[field] = {
        key: doubts.map((one) => one.key).join(" "),
        why: book.fill(words[first.reason], first.figures, kit.today),
        may_be_right: first.may_be_right,
        right: words[`+${first.reason}`] || "It is right",
        ...(first.reason === "week_beyond" ? { link: { address: `/entries/?kind=lessons&month=${first.figures.since.slice(0, 7)}`, words: words["=week_beyond"] } } : {}),
        meanings: first.meanings.map(({ name, changes }) => ({
          changes,
          words: (name ? [name] : Object.keys(changes)).map((one) => book.fill(words[`=${one}`], changes, kit.today)).join(", "),
        })),
      };
    }
    return questions;
  };
})();
