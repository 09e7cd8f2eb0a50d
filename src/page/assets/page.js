"use strict";
// The only script of the page: it shows what the server says of a station, plays its sounds, and changes between light
// and dark. It sends nothing, and the page stands without it.
(() => {
  const root = document.documentElement;

  // ---- light and dark ------------------------------------------------------------------------------------------
  const kept = (name) => { try { return localStorage.getItem(name); } catch { return null; } };
  const keep = (name, value) => { try { localStorage.setItem(name, value); } catch { /* it lasts as long as the page */ } };
  const darkIsUsual = matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (root.dataset.theme || (darkIsUsual.matches ? "dark" : "light")) === "dark";
  const chosen = kept("theme");
  if (chosen === "light" || chosen === "dark") root.dataset.theme = chosen;

  function themes() {
    const button = document.getElementById("theme");
    const named = () => { button.textContent = isDark() ? "Light" : "Dark"; };
    button.hidden = false;
    named();
    darkIsUsual.addEventListener("change", named);
    button.addEventListener("click", () => {
      root.dataset.theme = isDark() ? "light" : "dark";
      keep("theme", root.dataset.theme);
      named();
    });
  }

  // ---- sounds: off until a person switches them on --------------------------------------------------------------
  let audio = null;

  function sounds() {
    const button = document.getElementById("sound");
    if (!button || !("AudioContext" in window)) return;
    button.hidden = false;
    button.addEventListener("click", () => {
      const on = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(on));
      button.textContent = on ? "Sound on" : "Sound off";
      if (on) {
        audio = audio || new AudioContext();
        audio.resume();
        play({ notes: [[880, 80]], buzz: false });
      } else if (audio) {
        audio.close();
        audio = null;
      }
    });
  }

  function play(tone) {
    if (!audio) return;
    let at = audio.currentTime + 0.02;
    for (const [hertz, ms] of tone.notes) {
      const end = at + ms / 1000;
      if (hertz > 0) {
        const note = audio.createOscillator();
        const loud = audio.createGain();
        // A low note alone cannot be heard from a small speaker.
        note.type = tone.buzz ? "sawtooth" : "sine";
        note.frequency.value = hertz;
        loud.gain.setValueAtTime(0, at);
        loud.gain.linearRampToValueAtTime(0.4, at + 0.006);
        loud.gain.setValueAtTime(0.4, end - 0.006);
        loud.gain.linearRampToValueAtTime(0, end);
        note.connect(loud).connect(audio.destination);
        note.start(at);
        note.stop(end);
      }
      at = end;
    }
  }

  // ---- what is live ---------------------------------------------------------------------------------------------
  // The server says about every second that all of it is live; after this long without a word nothing is.
  const PATIENCE_MS = 3500;
  const AGAIN_MS = 1500;

  function follow(bench) {
    const by = (id) => document.getElementById(id);
    let heard = performance.now();
    let away = null;
    let source = null;

    const lost = (what, why) => {
      bench.classList.add("lost");
      bench.classList.remove("on");
      if (by("lost-what").textContent !== what) by("lost-what").textContent = what;
      if (by("lost-why").textContent !== why) by("lost-why").textContent = why;
      by("lost-since").textContent = "Last heard at " + by("clock").textContent + ". It is tried again all the time.";
      by("state").textContent = "Not live since";
      by("said").textContent = "";
    };
    const found = () => {
      away = null;
      heard = performance.now();
      bench.classList.remove("lost");
      bench.classList.add("on");
      by("state").textContent = "Live";
    };
    const unheard = () => lost("Connection lost", "Nothing here is live.");

    const begin = () => {
      source = new EventSource(bench.dataset.live);
      source.addEventListener("parts", (event) => {
        for (const [name, html] of Object.entries(JSON.parse(event.data))) {
          const part = by("part-" + name);
          if (part) part.innerHTML = html;
        }
      });
      source.addEventListener("said", (event) => { by("said").textContent = JSON.parse(event.data); });
      source.addEventListener("tone", (event) => play(JSON.parse(event.data)));
      source.addEventListener("beat", (event) => {
        by("clock").textContent = JSON.parse(event.data);
        found();
      });
      source.addEventListener("away", (event) => {
        away = JSON.parse(event.data);
        lost("The service is away", away);
      });
      source.onerror = () => {
        unheard();
        // A browser gives up where the answer was no stream; the next one may be.
        if (source.readyState === EventSource.CLOSED) setTimeout(begin, AGAIN_MS);
      };
    };
    begin();
    setInterval(() => {
      if (away === null && performance.now() - heard > PATIENCE_MS) unheard();
    }, 250);
    addEventListener("offline", unheard);
  }

  addEventListener("DOMContentLoaded", () => {
    themes();
    sounds();
    const bench = document.querySelector("[data-live]");
    if (bench) follow(bench);
  });
})();
