/* A photo of a receipt is drawn smaller before it is kept or sent: that saves the reader's data, and drops the place
   where it was taken. A browser that cannot do it sends the photo as it is; the book does the same with it. */
(function () {
  "use strict";
  var LONGEST = 2000;

  function smaller(file) {
    if (!/^image\//.test(file.type)) return Promise.resolve(file);
    return createImageBitmap(file).then(function (picture) {
      var scale = LONGEST / Math.max(picture.width, picture.height);
      if (scale >= 1) return file;
      var canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      picture.close();
      return new Promise(function (done) {
        canvas.toBlob(function (jpeg) {
          done(jpeg ? new File([jpeg], "receipt.jpg", { type: "image/jpeg" }) : file);
        }, "image/jpeg", 0.85);
      });
    }).catch(function () { return file; });
  }

  document.addEventListener("change", function (event) {
    var chosen = event.target;
    if (!chosen.matches("input[type=file][data-shrink]") || !window.createImageBitmap || !window.DataTransfer) return;
    var files = Array.prototype.slice.call(chosen.files);
    Promise.all(files.map(smaller)).then(function (ready) {
      // Others may have been chosen meanwhile.
      if (chosen.files.length !== files.length || files.some(function (file, at) { return chosen.files[at] !== file; })) return;
      var list = new DataTransfer();
      ready.forEach(function (file) { list.items.add(file); });
      chosen.files = list.files;
    }).catch(function () {});
  });
})();
