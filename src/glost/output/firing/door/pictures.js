// A picture out of the camera, made small on the page. It is drawn anew, so that nothing but the picture is left: not
// where it was taken, nor when, nor with what. The way it was held is kept, since it is drawn upright.

"use strict";

const pictures = (() => {
  const QUALITIES = [0.85, 0.75, 0.6, 0.45];

  const blobOf = (canvas, quality) => new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));

  // {data, width, height} with the bytes of a JPEG of at most so many. Fails where the browser cannot read the picture.
  async function small(file, longest, most) {
    const picture = await createImageBitmap(file);
    try {
      let scale = Math.min(1, longest / Math.max(picture.width, picture.height));
      for (let tries = 0; tries < 8; tries += 1) {
        const canvas = document.createElement("canvas");
        canvas.width = Math.max(1, Math.round(picture.width * scale));
        canvas.height = Math.max(1, Math.round(picture.height * scale));
        const pen = canvas.getContext("2d");
        pen.fillStyle = "white"; // behind a picture that lets light through
        pen.fillRect(0, 0, canvas.width, canvas.height);
        pen.imageSmoothingQuality = "high";
        pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
        for (const quality of QUALITIES) {
          const blob = await blobOf(canvas, quality);
          if (blob && blob.type === "image/jpeg" && blob.size <= most) {
            return { data: new Uint8Array(await blob.arrayBuffer()), width: canvas.width, height: canvas.height };
          }
        }
        scale /= 1.5;
      }
    } finally {
      picture.close();
    }
    throw new Error("too large");
  }

  // Draws the bytes of a JPEG into a canvas of at most that height.
  async function draw(canvas, data, high) {
    const picture = await createImageBitmap(new Blob([data], { type: "image/jpeg" }));
    const scale = Math.min(1, high / picture.height);
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
  }

  function base64(data) {
    const pieces = [];
    for (let at = 0; at < data.length; at += 0x6000) {
      pieces.push(btoa(String.fromCharCode(...data.subarray(at, at + 0x6000)))); // a multiple of three, so that they join
    }
    return pieces.join("");
  }

  return { base64, draw, small };
})();
