// Tells the member when a request made by htmx did not come through: without this nothing would be seen.
(() => {
  "use strict";

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
    document.getElementById("toasts").replaceChildren(toast);
  };

  document.addEventListener("htmx:sendError", () =>
    tell("No connection. What you typed is still here: try again when you have a signal. Nothing is logged twice."));
  document.addEventListener("htmx:timeout", () =>
    tell("The book did not answer in time. Try again: nothing is logged twice."));
  document.addEventListener("htmx:responseError", (event) => {
    const status = event.detail.xhr.status;
    if (status === 403) tell("This page has gone stale. Reload it, then try again.", true);
    else if (status === 404) tell("That is no longer here. Reload the page to see what is.", true);
    else tell("Something went wrong in the book. Try again in a moment: nothing is logged twice.");
  });

  // A fragment that asks for the keyboard gets it, so that a screen reader says what has changed.
  document.addEventListener("htmx:afterSettle", (event) => {
    event.target.querySelector?.("[data-focus]")?.focus();
  });

  // A page that the browser kept whole shows figures as they were before something was saved; one with words just
  // refused keeps them.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted && !document.querySelector(".errors")) window.location.reload();
  });

  // What only works with script is shown by script: passkeys. When one does not come about, that is said.
  for (const element of document.querySelectorAll("[data-needs-script]")) element.hidden = !window.PublicKeyCredential;
  document.addEventListener("allauth.error", (event) => {
    event.preventDefault();
    tell("The passkey was not used. Try again, or choose another way.");
  });

  // Close the "More" menu with Escape or a tap elsewhere; without script its own summary does it.
  const menu = document.querySelector(".nav details");
  if (menu) {
    document.addEventListener("click", (event) => { if (!menu.contains(event.target)) menu.open = false; });
    menu.addEventListener("keydown", (event) => {
      if (event.key === "Escape") { menu.open = false; menu.querySelector("summary").focus(); }
    });
  }
})();
