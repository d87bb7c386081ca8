// What waits on this phone to be sent. Each entry is sealed by the key of its member,
// which is wiped at sign-out: until the same member signs in again, nobody reads it. Plain http has no such keys: there
// book.outbox is missing, and a form is sent as any other.
self.book = self.book || {};
(() => {
  "use strict";
  if (!self.isSecureContext || !self.indexedDB || !self.crypto || !crypto.subtle) return;

  const KIT = "/log/kit/";
  // Milliseconds: how old a kit may be, how long an answer may take besides its files, and how long a lease lasts.
  const FRESH = 5 * 60e3, PATIENCE = 30e3, LEASE = 2 * 60e3;
  // Bytes a millisecond of a slow line, by which a photo is given its time.
  const SLOW = 5;

  let opened = null;
  const open = () => {
    opened = opened || new Promise((done, fail) => {
      const asked = indexedDB.open("book", 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore("waiting", { keyPath: "n", autoIncrement: true }).createIndex("ref", "ref", { unique: true });
        asked.result.createObjectStore("kept");
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => { opened = null; fail(asked.error); };
    });
    return opened;
  };

  // One transaction on one store. `work` may set `found.it`, which is what comes back once all of it is on the disk.
  const within = async (store, mode, work) => {
    const base = await open();
    return new Promise((done, fail) => {
      const whole = base.transaction(store, mode, { durability: "strict" }), found = {};
      whole.oncomplete = () => done(found.it);
      whole.onabort = whole.onerror = () => fail(whole.error);
      work(whole.objectStore(store), found);
    });
  };
  const got = (asked, found) => { asked.onsuccess = () => { found.it = asked.result; }; };

  // --- Who listens: this page, and every other page of the book ------------------------------------
  const ears = [], air = self.BroadcastChannel ? new BroadcastChannel("book") : null;
  // How often a member has signed out, as far as this page knows.
  let wiped = 0;
  const hear = (told) => { if (told.what === "wiped") wiped += 1; ears.forEach((ear) => ear(told)); };
  const tell = (what) => { if (air) air.postMessage(what); hear(what); };
  if (air) air.onmessage = (event) => hear(event.data);

  // --- The kit -------------------------------------------------------------------------------------------------------
  const kit = () => within("kept", "readonly", (store, found) => got(store.get("kit"), found));

  const wipe = async () => {
    await within("kept", "readwrite", (store) => store.delete("kit"));
    tell({ what: "wiped" });
  };

  // The seal comes masked, so that the length of a compressed answer tells nothing of it: half of the bytes are the mask.
  const unmasked = (text) => {
    const all = Uint8Array.from(atob(text), (one) => one.charCodeAt(0)), half = all.length / 2;
    return all.slice(half).map((one, at) => one ^ all[at]);
  };

  // A new kit; null without a signal, undefined for whoever is signed out, or is not `member` any more.
  const fetchKit = async (member) => {
    const before = wiped;
    let answer, fresh;
    try {
      answer = await fetch(KIT, { headers: { Accept: "application/json" }, credentials: "same-origin", cache: "no-store", redirect: "manual" });
      if (answer.status === 401 || answer.type === "opaqueredirect") return wipe();
      if (!answer.ok) return null;
      fresh = await answer.json();
    } catch (_) {
      return null;
    }
    // Nor is a kit kept that was asked for before somebody signed out.
    if ((member && fresh.member !== member) || wiped !== before) return undefined;
    const key = await crypto.subtle.importKey("raw", unmasked(fresh.seal), "AES-GCM", false, ["encrypt", "decrypt"]);
    delete fresh.seal;
    const kept = { member: fresh.member, key, kit: fresh, at: Date.now() };
    await within("kept", "readwrite", (store) => store.put(kept, "kit"));
    tell({ what: "kit" });
    return kept;
  };

  // The kit of `member`: the one that is kept if it is young enough, else a new one if there is a signal, else the old one.
  const freshKit = async (member, age = FRESH) => {
    const kept = await kit(), now = Date.now();
    if (kept && kept.member !== member) await wipe();
    else if (kept && now - kept.at < age && kept.at <= now) return kept;
    return await fetchKit(member) || kit();
  };

  // --- Sealing -------------------------------------------------------------------------------------------------------
  const seal = async (key, content) => {
    const iv = crypto.getRandomValues(new Uint8Array(12));
    return { iv, sealed: await crypto.subtle.encrypt({ name: "AES-GCM", iv }, key, content) };
  };
  const unseal = (key, { iv, sealed }) => crypto.subtle.decrypt({ name: "AES-GCM", iv }, key, sealed);
  const sealEntry = (key, entry) => seal(key, new TextEncoder().encode(JSON.stringify(entry)));
  const unsealEntry = async (key, row) => JSON.parse(new TextDecoder().decode(await unseal(key, row.entry)));

  // --- What waits ------------------------------------------------------------------------------------------------------
  // Keep an entry {ref, kind, to, words, values: [[name, value]]} with its files: [[name, File]]. One of the same
  // reference is replaced in its place, so that what is sent twice, or put right, waits once.
  const add = async (kept, entry, files) => {
    const told = files.map(([name, file]) => [name, file.name, file.type]);
    const sealed = await Promise.all(files.map(async ([, file]) => seal(kept.key, await new Response(file).arrayBuffer())));
    const row = { ref: entry.ref, member: kept.member, state: "waiting", files: sealed };
    row.entry = await sealEntry(kept.key, { when: new Date().toISOString(), files: told, ...entry });
    await within("waiting", "readwrite", (store) => {
      const asked = store.index("ref").getKey(row.ref);
      asked.onsuccess = () => store.put(asked.result === undefined ? row : { ...row, n: asked.result });
    });
    tell({ what: "added", ref: row.ref });
  };

  const remove = async (n) => {
    await within("waiting", "readwrite", (store) => store.delete(n));
    tell({ what: "dropped" });
  };

  const put = (row) => within("waiting", "readwrite", (store) => store.put(row));
  // The files of a row, as one chooses them: [[name, File]].
  const filesOf = async ({ row, entry }) => {
    const kept = await kit();
    return Promise.all(entry.files.map(async ([name, called, type], at) => [name, new File([await unseal(kept.key, row.files[at])], called, { type })]));
  };
  const putBack = async (row) => { await put(row); tell({ what: "added", ref: row.ref }); };

  // The rows of the member of the kit, oldest first, each with its entry; without one if it can't be read any more.
  const list = async () => {
    const kept = await kit();
    if (!kept) return [];
    const rows = await within("waiting", "readonly", (store, found) => got(store.getAll(), found));
    const own = rows.filter((row) => row.member === kept.member);
    return Promise.all(own.map(async (row) => ({ row, entry: await unsealEntry(kept.key, row).catch(() => null) })));
  };

  const counts = async () => {
    const kept = await kit(), found = { waiting: 0, refused: 0 };
    if (!kept) return found;
    const rows = await within("waiting", "readonly", (store, all) => got(store.getAll(), all));
    for (const row of rows) if (row.member === kept.member) found[row.state === "waiting" ? "waiting" : "refused"] += 1;
    return found;
  };

  // The first row after `n` that waits to be sent for `member`.
  const next = (n, member) => within("waiting", "readonly", (store, found) => {
    const asked = store.openCursor(IDBKeyRange.lowerBound(n, true));
    asked.onsuccess = () => {
      const at = asked.result;
      if (!at) return;
      if (at.value.member === member && at.value.state === "waiting") found.it = at.value;
      else at.continue();
    };
  });

  // --- Sending: in order, one at a time, by one page ---------------------------------------------------------
  // A browser without locks has a lease, which whoever is closed in the middle leaves to run out.
  const mine = String(crypto.getRandomValues(new Uint32Array(1))[0]);
  const leased = async (work) => {
    const has = await within("kept", "readwrite", (store, found) => {
      const asked = store.get("lease");
      asked.onsuccess = () => {
        if (asked.result && asked.result.until > Date.now() && asked.result.mine !== mine) return;
        store.put({ mine, until: Date.now() + LEASE }, "lease");
        found.it = true;
      };
    });
    if (!has) return false;
    try { return await work(); } finally { await within("kept", "readwrite", (store) => store.delete("lease")); }
  };
  const alone = (work) => (self.navigator.locks ? navigator.locks.request("book.send", work) : leased(work));

  const post = async (kept, entry, files) => {
    const body = new FormData(), size = files.reduce((sum, file) => sum + file.byteLength, 0);
    for (const [name, value] of entry.values) body.append(name, value);
    entry.files.forEach(([name, called, type], at) => body.append(name, new Blob([files[at]], { type }), called));
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), PATIENCE + size / SLOW);
    try {
      const headers = { Accept: "application/json", "X-Member": kept.member, "X-CSRFToken": kept.kit.token };
      const answer = await fetch(entry.to, { method: "POST", body, headers, credentials: "same-origin", redirect: "manual", signal: stop.signal });
      const is = (answer.headers.get("Content-Type") || "").startsWith("application/json");
      return { status: answer.status, led: answer.type === "opaqueredirect", data: is ? await answer.json() : null };
    } finally {
      clearTimeout(timer);
    }
  };

  // Whoever types anew what the book has asked about, and saves that, has answered: what was asked about before goes.
  // Returns the rows that went. What was saved before the book asked is an entry of its own.
  const SAME = ["car", "filled_on", "paid_on", "category", "week"];
  const said = (entry, name) => (entry.values.find(([one]) => one === name) || [])[1];
  const isAsked = ({ answer }) => Boolean(answer) && Object.keys(answer.questions || {}).length > 0 && !Object.keys(answer.errors || {}).length;
  const dropAnswered = async (saved) => {
    const rows = (await list()).filter(({ row, entry }) => row.state === "refused" && entry && isAsked(entry) && entry.asked < saved.when
      && entry.kind === saved.kind && SAME.every((name) => said(entry, name) === said(saved, name))).map(({ row }) => row);
    for (const row of rows) await remove(row.n);
    return rows;
  };

  const sent = async (row, data) => {
    await within("waiting", "readwrite", (store) => store.delete(row.n));
    tell({ what: "sent", ref: row.ref, answer: data });
  };

  const refused = async (kept, row, entry, answer) => {
    const still = await within("waiting", "readonly", (store, found) => got(store.get(row.n), found));
    if (still) await put({ ...still, state: "refused", entry: await sealEntry(kept.key, { ...entry, answer, asked: new Date().toISOString() }) });
    tell({ what: "refused", ref: row.ref, answer });
  };
  const TOO_LARGE = { errors: { "": ["This is too large to be sent. Leave a photo out, or take a smaller one."] }, questions: {} };
  const NOT_TAKEN = { errors: { "": ["The book could not take this."] }, questions: {} };

  // Send one row. Returns whether to go on with the next: not without a signal, an answer, or the member signed in.
  const sendRow = async (kept, row) => {
    let entry, files, answer;
    try {
      entry = await unsealEntry(kept.key, row);
      files = await Promise.all(row.files.map((file) => unseal(kept.key, file)));
    } catch (_) {
      await put({ ...row, state: "unreadable" });
      tell({ what: "refused", ref: row.ref, answer: null });
      return true;
    }
    answer = await post(kept, entry, files).catch(() => null);
    if (answer && answer.status === 403) {
      // The token is stale: a new kit brings a new one.
      const fresh = await fetchKit(kept.member);
      answer = fresh && await post(fresh, entry, files).catch(() => null);
    }
    if (!answer) return false;
    if (answer.status === 401 || answer.status === 409 || answer.led) return await wipe(), false;
    if ((answer.status === 200 || answer.status === 201) && answer.data) return await sent(row, answer.data), true;
    if (answer.status === 422 && answer.data) return await refused(kept, row, entry, answer.data), true;
    if (answer.status === 413) return await refused(kept, row, entry, TOO_LARGE), true;
    if (answer.status === 400) return await refused(kept, row, entry, NOT_TAKEN), true;
    return false;
  };

  const sendAll = async () => {
    let last = 0;
    for (;;) {
      const kept = await kit(), row = kept && await next(last, kept.member);
      if (!row) return true;
      last = row.n;
      if (!(await sendRow(kept, row))) return false;
    }
  };

  // Send what waits. Returns whether nothing is left that a signal would help.
  let going = null, again = false;
  const send = () => {
    again = true;
    going = going || (async () => {
      let done = false;
      try {
        while (again) { again = false; done = await alone(sendAll); }
      } finally {
        going = null;
        hear({ what: "rested" });
      }
      return done;
    })();
    return going;
  };

  book.outbox = { add, remove, dropAnswered, putBack, list, filesOf, counts, send, kit, fetchKit, freshKit, wipe, listen: (ear) => ears.push(ear) };
})();
