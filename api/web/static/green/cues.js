// What the phone does beside showing: a short buzz and a soft tick for each
// ball, so that a glance is not needed, and a screen that stays awake. Each can
// be turned off, and none is needed to understand the page.

import { settings } from "../base/settings.js";
import { useEffect } from "../base/ui.js";

const buzzes = { out: [30], in: [20, 40, 20], holed: [20, 40, 20, 40, 60], undo: [10], time: [200, 100, 200], made: [60, 60, 60, 60, 200] };

// Each cue is one or more short tones: [hertz, from, for] in seconds.
const tones = {
  out: [[220, 0, 0.09]], in: [[440, 0, 0.09]], holed: [[440, 0, 0.08], [660, 0.09, 0.12]], undo: [[330, 0, 0.05]],
  time: [[523, 0, 0.18], [523, 0.3, 0.18]], made: [[440, 0, 0.12], [554, 0.14, 0.12], [659, 0.28, 0.25]],
};

let audio = null;

/** cue gives the signal of a name: an outcome, "undo", "time" or "made". */
export function cue(name) {
  const { sounds, haptics } = settings.value;
  if (haptics && navigator.userActivation?.hasBeenActive) navigator.vibrate?.(buzzes[name]);
  if (sounds && navigator.userActivation?.hasBeenActive) for (const tone of tones[name]) play(tone);
}

function play([hertz, from, length]) {
  audio ??= new AudioContext();
  if (audio.state === "suspended") audio.resume();
  const at = audio.currentTime + from;
  const [source, volume] = [audio.createOscillator(), audio.createGain()];
  source.frequency.value = hertz;
  // Fade in and out, or the ends click.
  volume.gain.setValueAtTime(0, at);
  volume.gain.linearRampToValueAtTime(0.15, at + 0.01);
  volume.gain.linearRampToValueAtTime(0, at + length);
  source.connect(volume).connect(audio.destination);
  source.start(at);
  source.stop(at + length);
}

/** useAwake keeps the screen on while on is true and the page is seen. */
export function useAwake(on) {
  useEffect(() => {
    if (!on || !navigator.wakeLock) return;
    let lock = null;
    let stopped = false;
    const hold = async () => {
      if (document.visibilityState !== "visible") return;
      try {
        lock = await navigator.wakeLock.request("screen");
        if (stopped) lock.release();
      } catch {
        // A phone that saves its battery refuses; the page works all the same.
      }
    };
    hold();
    document.addEventListener("visibilitychange", hold);
    return () => {
      stopped = true;
      document.removeEventListener("visibilitychange", hold);
      lock?.release();
    };
  }, [on]);
}
