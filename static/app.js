// Tell the member when an htmx request fails; otherwise they would see nothing.
(() => {
  "use strict";

  // There before anything is said in it: else a screen reader would not hear the first.
  const toasts = document.createElement("div");
  toasts.className = "toasts";
  toasts.setAttribute("role", "status");
  toasts.setAttribute("aria-live", "assertive");
  document.body.append(toasts);

  const tell = (words, reload = false) => {
    const toast = document.createElement("div");
    toast.className = "toast";
    const text = document.createElement("span");
    text.textContent = words;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = reload ? "Reload" : "Close";
    button.addEventListener("click", () => (reload ? window.location.reload() : toast.remove()));
    toast.append(text, button);
    toasts.replaceChildren(toast);
  };

  document.addEventListener("htmx:sendError", () =>
    tell("No connection. What you typed is still here. Try again when you have a signal: nothing is logged twice."));
  document.addEventListener("htmx:timeout", () =>
    tell("The book did not answer in time. Try again: nothing is logged twice."));
  document.addEventListener("htmx:responseError", (event) => {
    const status = event.detail.xhr.status;
    if (status === 403) tell("This page is out of date. Reload it and try again.", true);
    else if (status === 404) tell("That is no longer here. Reload the page.", true);
    else if (status === 429) tell("That was a lot at once. What you typed is still here: go on in a few minutes.");
    else tell("Something went wrong. Try again in a moment: nothing is logged twice.");
  });

  // Move the focus into a fragment that asks for it, so that a screen reader says what has changed.
  document.addEventListener("htmx:afterSettle", (event) => {
    event.target.querySelector?.("[data-focus]")?.focus();
  });

  // What opens above the field that one types in must not push it out of sight: the field stays where it is.
  let held = null;
  document.addEventListener("htmx:beforeSwap", () => {
    const field = document.activeElement;
    held = field?.matches("main input, main select, main textarea") ? { field, top: field.getBoundingClientRect().top } : null;
  });
  document.addEventListener("htmx:afterSwap", () => {
    if (held?.field.isConnected) window.scrollBy({ top: held.field.getBoundingClientRect().top - held.top, behavior: "instant" });
    held = null;
  });

  // What one types while an answer is on its way stays, in the same rows of what it brings. Only where nothing is saved
  // (data-keeps): after something is saved, empty rows are what one expects.
  const typed = (part) => new Map(Array.from(part.querySelectorAll("input[type=text], textarea"), (field) => [field.id, field.value]));
  const sent = new WeakMap();
  let since = [];
  document.addEventListener("htmx:beforeRequest", ({ detail }) => {
    if (detail.elt.matches("[data-keeps]")) sent.set(detail.xhr, typed(detail.target));
  });
  document.addEventListener("htmx:beforeSwap", ({ detail }) => {
    const before = sent.get(detail.xhr);
    since = before ? [...typed(detail.target)].filter(([id, words]) => before.get(id) !== words) : [];
  });
  document.addEventListener("htmx:afterSwap", () => {
    for (const [id, words] of since.splice(0)) {
      const field = document.getElementById(id);
      if (field) field.value = words;
    }
  });

  // A figure that is filled in but often otherwise is marked when one taps it, so that typing replaces it.
  document.addEventListener("focusin", (event) => {
    if (event.target.matches("input[data-select]")) event.target.select();
  });
  // Say on the key of a check how many of its points are fine: those that are neither ticked nor known to be faulty.
  for (const points of document.querySelectorAll(".points")) {
    points.addEventListener("change", () => {
      const aside = points.querySelectorAll("li:has(> .fault > :checked), li[data-known]").length;
      for (const words of points.closest("form").querySelectorAll("[data-aside]")) words.hidden = words.dataset.aside !== String(aside);
    });
  }

  // A page from the browser's own cache may show old figures, so reload it, but not if it holds refused input.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted && !document.querySelector(".errors")) window.location.reload();
  });

  // Passkeys need script, so script shows their controls, and says when one fails.
  for (const element of document.querySelectorAll("[data-needs-script]")) element.hidden = !window.PublicKeyCredential;
  document.addEventListener("allauth.error", (event) => {
    event.preventDefault();
    tell("The passkey did not work. Try again, or choose another way.");
  });
})();
