"use strict";
/* The plucked string (Karplus and Strong 1983): one period goes round a loop that loses a little each time. Period, loop
   and the noise of the pick are made in Python, drills/phone/phone_sound.py; here they only ring, and swing two ways. */

function decoded(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let place = 0; place < raw.length; place += 1) bytes[place] = raw.charCodeAt(place);
  return new DataView(bytes.buffer);
}

function pluck(sound, key, seconds) {
  const [whole, loop, period, noise, falls] = sound.strings[String(key)];
  const loopBytes = decoded(loop);
  const taps = loopBytes.byteLength / 4;
  const kernel = new Float64Array(taps);
  for (let tap = 0; tap < taps; tap += 1) kernel[tap] = loopBytes.getFloat32(4 * tap, true);
  const periodBytes = decoded(period);
  const burst = Math.min(periodBytes.byteLength / 2, Math.max(1, Math.round(seconds * sound.rate)));
  const length = Math.max(1, Math.round(seconds * sound.rate));
  const start = taps + whole;
  const line = new Float64Array(start + length);
  for (let place = 0; place < burst; place += 1) line[start + place] = periodBytes.getInt16(2 * place, true) / 1500;
  /* Before the note stands the end of its period, so that the loop finds no step to ring with. */
  const size = periodBytes.byteLength / 2;
  for (let back = 1; back <= taps; back += 1) {
    line[start - back] = periodBytes.getInt16(2 * ((size - (back % size)) % size), true) / 1500;
  }
  for (let now = start + burst; now < start + length; now += 1) {
    let sum = 0;
    for (let tap = 0; tap < taps; tap += 1) sum += kernel[tap] * line[now - whole - tap];
    line[now] += sum;
  }
  const noiseBytes = decoded(noise);
  const scrape = Math.min(noiseBytes.byteLength / 2, length);
  const [share, pace] = sound.early;
  const samples = new Float32Array(length);
  const half = Math.floor(length / 2);
  const rise = Math.min(Math.round(sound.attack * sound.rate), half);
  const fall = Math.min(Math.round(sound.release * sound.rate), half);
  for (let place = 0; place < length; place += 1) {
    let gain = sound.level;
    if (place < rise) gain *= 0.5 - 0.5 * Math.cos((Math.PI * (place + 0.5)) / rise);
    if (place >= length - fall) gain *= 0.5 - 0.5 * Math.cos((Math.PI * (length - place - 0.5)) / fall);
    const at = start + place * pace;
    const before = Math.floor(at);
    const early = (line[before] + (at - before) * ((line[before + 1] || 0) - line[before])) * falls ** place;
    const scraped = place < scrape ? noiseBytes.getInt16(2 * place, true) / 1500 : 0;
    samples[place] = ((1 - share) * line[start + place] + share * early + scraped) * gain;
  }
  return samples;
}

/* Chords struck and lines played, one after another, as one stretch of samples that begins softly and stays under the
   ceiling: ears first. parts: ["grip", keys...] or ["line", keys...]. */
function performed(sound, parts) {
  const notes = [];
  let at = 0;
  parts.forEach(([how, ...keys]) => {
    keys.forEach((key, place) => {
      if (how === "grip") {
        notes.push([key, at + place * sound.spread, sound.grip - place * sound.spread]);
      } else {
        const last = place === keys.length - 1;
        notes.push([key, at + place * sound.note, (last ? 2.5 : 1) * sound.note + sound.legato]);
      }
    });
    at += how === "grip" ? sound.grip : sound.note * (keys.length + 1.5);
  });
  const end = Math.max(...notes.map(([, start, seconds]) => start + seconds));
  const mixed = new Float32Array(Math.ceil((end + 0.05) * sound.rate));
  notes.forEach(([key, start, seconds]) => {
    const first = Math.round(start * sound.rate);
    pluck(sound, key, seconds).forEach((sample, place) => {
      mixed[first + place] += sample;
    });
  });
  let peak = 0;
  for (const sample of mixed) peak = Math.max(peak, Math.abs(sample));
  const scale = peak > sound.ceiling ? sound.ceiling / peak : 1;
  const soft = Math.round(0.5 * sound.rate);
  for (let place = 0; place < mixed.length; place += 1) {
    const opening = place < soft ? 0.2 + 0.8 * (0.5 - 0.5 * Math.cos((Math.PI * (place + 0.5)) / soft)) : 1;
    mixed[place] *= scale * opening;
  }
  return mixed;
}

if (typeof module !== "undefined") module.exports = { pluck, performed };
