// For every page: register the worker, keep the kit of whoever is signed in, wipe that of whoever is not, send what waits,
// and say how much that is. A page says by data-member whose it is; the one that the worker keeps does not know.
(() => {
  "use strict";
  const { outbox } = self.book || {};
  if (!outbox) return;
  const { member } = document.body.dataset, line = document.querySelector("[data-waiting]");
  // Milliseconds: when to try again what did not go, and how old a kit may be where nothing is logged.
  const AGAIN = 15e3, HALF_A_DAY = 12 * 3600e3;
  const isHidden = () => document.visibilityState === "hidden";

  const show = async () => {
    if (!line) return;
    const { waiting, refused } = await outbox.counts(), words = [];
    if (waiting) words.push(`${waiting} waiting to be sent`);
    if (refused) words.push(`${refused} to put right`);
    line.querySelector("a").textContent = words.join(", ");
    line.hidden = !words.length;
    // Where somebody signs out: what has not been sent stays, and for whom.
    for (const kept of document.querySelectorAll("[data-kept]")) {
      kept.hidden = !words.length;
      kept.textContent = `On this phone: ${words.join(", ")}. It stays here until you sign in again.`;
    }
  };

  let timer = null;
  const send = async () => {
    clearTimeout(timer);
    await outbox.send();
    if ((await outbox.counts()).waiting) timer = setTimeout(() => isHidden() || send(), AGAIN);
  };

  const settle = async () => {
    const kept = await outbox.kit();
    if (member === "" && kept) return outbox.wipe();
    const whose = member || (kept && kept.member);
    if (!whose) return undefined;
    await show();
    await outbox.freshKit(whose, document.querySelector("form[data-log], [data-waiting-list]") ? undefined : HALF_A_DAY);
    return send();
  };

  outbox.listen(({ what }) => { if (what !== "rested") show(); });
  // A kit that the line was too poor for comes with the signal.
  window.addEventListener("online", settle);
  document.addEventListener("visibilitychange", () => isHidden() || send());
  settle();

  if ("serviceWorker" in navigator && member !== "") {
    navigator.serviceWorker.addEventListener("message", ({ data }) => { if (data === "send") send(); });
    window.addEventListener("load", () => navigator.serviceWorker.register("/sw.js").catch(() => {}));
  }
})();
