import { switches } from './switches.ts';

/**
 * Cues for the next room, made in the browser, no files. Different events sound different: clear is two rising tones, done
 * three, cannot tell two low falling ones, an alarm two high ones and a low one, and one short tone says that a press of the kit's button was heard. A browser
 * stays silent until somebody has touched the page; the page says so. Sound and vibration can each be switched off.
 */
export type Cue = 'clear' | 'done' | 'cannot-tell' | 'heard' | 'alarm';

const tones: Readonly<Record<Cue, readonly number[]>> = {
  clear: [660, 880],
  done: [660, 880, 1320],
  'cannot-tell': [220, 165],
  heard: [1046],
  alarm: [880, 880, 587],
};
const vibrations: Readonly<Record<Cue, number[]>> = {
  clear: [150, 80, 150],
  done: [150, 80, 150, 80, 400],
  'cannot-tell': [600],
  heard: [60],
  alarm: [300, 100, 300],
};
const toneS = 0.22;

export interface Sound {
  /** To be called from a touch: only then may a page begin to sound. */
  unlock(): void;
  play(cue: Cue): void;
  readonly ready: boolean;
}

export function createSound(changed: (ready: boolean) => void): Sound {
  let context: AudioContext | null = null;
  const isReady = () => context?.state === 'running';
  return {
    get ready() {
      return isReady();
    },
    unlock() {
      if (isReady()) return;
      context ??= new AudioContext();
      context.onstatechange = () => changed(isReady());
      context.resume().then(
        () => changed(isReady()),
        () => changed(false),
      );
    },
    play(cue) {
      // Before the first touch a browser refuses, and complains on its console.
      if (switches.vibration.on.value && navigator.userActivation?.hasBeenActive !== false)
        navigator.vibrate?.(vibrations[cue]);
      if (!switches.sound.on.value || context === null || !isReady()) return;
      const audio = context;
      tones[cue].forEach((hertz, i) => {
        const startS = audio.currentTime + 0.02 + i * (toneS + 0.05);
        const tone = audio.createOscillator();
        const level = audio.createGain();
        tone.frequency.value = hertz;
        tone.type = 'triangle';
        level.gain.setValueAtTime(0, startS);
        level.gain.linearRampToValueAtTime(0.6, startS + 0.02);
        level.gain.setValueAtTime(0.6, startS + toneS - 0.05);
        level.gain.linearRampToValueAtTime(0, startS + toneS);
        tone.connect(level).connect(audio.destination);
        tone.start(startS);
        tone.stop(startS + toneS);
      });
    },
  };
}
