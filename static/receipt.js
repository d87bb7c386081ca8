// A photo of a receipt is drawn smaller before it is kept or sent: that saves the reader's data, and drops the place
// where it was taken. A browser that cannot do it sends the photo as it is; the book does the same with it.
(() => {
  "use strict";
  const LONGEST = 2000, FILES = "input[type=file][data-shrink]";

  const smaller = async (file) => {
    if (!file.type.startsWith("image/")) return file;
    try {
      const picture = await createImageBitmap(file), scale = LONGEST / Math.max(picture.width, picture.height);
      if (scale >= 1) return file;
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const jpeg = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      return jpeg ? new File([jpeg], "receipt.jpg", { type: "image/jpeg" }) : file;
    } catch (_) {
      return file;
    }
  };

  // A chip says nothing of files while there are none.
  const show = (input) => input.toggleAttribute("data-none", !input.files.length);
  const showAll = () => document.querySelectorAll(FILES).forEach(show);

  document.addEventListener("change", async ({ target }) => {
    if (!target.matches(FILES)) return;
    show(target);
    const files = Array.from(target.files);
    try {
      const ready = await Promise.all(files.map(smaller)), list = new DataTransfer();
      // Others may have been chosen meanwhile.
      if (files.length !== target.files.length || files.some((file, at) => file !== target.files[at])) return;
      ready.forEach((file) => list.items.add(file));
      target.files = list.files;
    } catch (_) {
      // They stay as they are.
    }
  });
  document.addEventListener("reset", () => setTimeout(showAll));
  showAll();
})();
