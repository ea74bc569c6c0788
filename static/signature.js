// Drawing a signature with a finger, a pen or a mouse. The typed name alone signs; a drawing is an extra.
// Only whole numbers are sent: the shop's computer checks them and draws its own picture.
"use strict";
(() => {
  const WIDTH = 600;
  const HEIGHT = 200;
  const MOST_STROKES = 80;
  const MOST_POINTS = 2000;
  const APART = 3;
  const INK = 4;

  const read = (text) => (text ? text.split("|").map((stroke) => stroke.split(" ").map((point) => point.split(",").map(Number))) : []);
  const write = (strokes) => strokes.map((stroke) => stroke.map((point) => point.join(",")).join(" ")).join("|");
  const within = (number, most) => Math.min(most, Math.max(0, Math.round(number)));

  const begin = (field) => {
    const sheet = field.querySelector("canvas");
    const kept = field.querySelector("input[type=hidden]");
    const pen = sheet.getContext("2d");
    let strokes = read(kept.value);
    let drawing = null;

    const draw = () => {
      pen.setTransform(sheet.width / WIDTH, 0, 0, sheet.height / HEIGHT, 0, 0);
      pen.clearRect(0, 0, WIDTH, HEIGHT);
      pen.strokeStyle = getComputedStyle(sheet).color;
      pen.lineWidth = INK;
      pen.lineCap = pen.lineJoin = "round";
      strokes.forEach(([first, ...rest]) => {
        pen.beginPath();
        pen.moveTo(...first);
        (rest.length ? rest : [first]).forEach((point) => pen.lineTo(...point));
        pen.stroke();
      });
    };
    const fit = () => {
      const sharp = devicePixelRatio || 1;
      sheet.width = Math.max(1, Math.round(sheet.clientWidth * sharp));
      sheet.height = Math.max(1, Math.round(sheet.clientHeight * sharp));
      draw();
    };
    const add = (event) => {
      const stroke = strokes[strokes.length - 1];
      if (strokes.reduce((sum, one) => sum + one.length, 0) >= MOST_POINTS) return;
      const glass = sheet.getBoundingClientRect();
      const x = within(((event.clientX - glass.left) / glass.width) * WIDTH, WIDTH);
      const y = within(((event.clientY - glass.top) / glass.height) * HEIGHT, HEIGHT);
      const last = stroke[stroke.length - 1];
      if (!last || Math.hypot(x - last[0], y - last[1]) >= APART) stroke.push([x, y]);
    };
    const end = (event) => {
      if (event.pointerId !== drawing) return;
      drawing = null;
      strokes = strokes.filter((stroke) => stroke.length);
      kept.value = write(strokes);
    };

    sheet.addEventListener("pointerdown", (event) => {
      if (drawing !== null || event.button !== 0 || strokes.length >= MOST_STROKES) return;
      drawing = event.pointerId;
      sheet.setPointerCapture(drawing);
      strokes.push([]);
      add(event);
      draw();
    });
    sheet.addEventListener("pointermove", (event) => {
      if (event.pointerId !== drawing) return;
      (event.getCoalescedEvents?.() ?? [event]).forEach(add);
      draw();
    });
    sheet.addEventListener("pointerup", end);
    sheet.addEventListener("pointercancel", end);
    field.querySelector("button").addEventListener("click", () => {
      strokes = [];
      kept.value = "";
      draw();
    });
    addEventListener("resize", fit);
    field.hidden = false;
    fit();
  };
  document.querySelectorAll("[data-signature]").forEach(begin);
})();
