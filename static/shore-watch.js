// The shore watch may be heard: three short tones while somebody is late, once a person here has switched them on.
"use strict";
(() => {
  const AGAIN_MS = 10 * 1000;
  const button = document.getElementById("sound");
  if (!button || !window.AudioContext) return;
  let sound = null;
  const tones = () => {
    if (!sound || document.getElementById("board")?.dataset.late !== "yes") return;
    [0, 0.35, 0.7].forEach((after) => {
      const tone = new OscillatorNode(sound, { frequency: 880 });
      tone.connect(sound.destination);
      tone.start(sound.currentTime + after);
      tone.stop(sound.currentTime + after + 0.2);
    });
  };
  const say = () => {
    button.textContent = sound ? "Sound is on: switch it off" : "Sound when somebody is late";
    button.setAttribute("aria-pressed", String(Boolean(sound)));
  };
  button.addEventListener("click", () => {
    if (sound) sound.close();
    sound = sound ? null : new AudioContext();
    say();
    tones();
  });
  say();
  button.hidden = false;
  setInterval(tones, AGAIN_MS);
})();
