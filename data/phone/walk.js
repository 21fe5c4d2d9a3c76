"use strict";
/* The walk of the page: what comes next, by the tables in the page and by what was played on it.
   It says the same as drills/phone/walk.py, line by line; a test compares the two. It plans nothing. */

function nextStep(tables, history, session, without) {
  const cards = tables.cards.map(([skills, apart, told]) => ({ skills, apart, told }));
  const aside = new Set(without || []);
  const met = new Set(tables.met);
  const begun = new Map();
  const asked = [];
  const played = new Set();
  const waiting = new Map();
  const missed = new Set();
  let running = 0;
  let returned = 0;
  const newSkills = (card) => cards[card].skills.filter((skill) => !met.has(skill));

  history.forEach((one, number) => {
    const fresh = newSkills(one.card);
    fresh.forEach((skill) => met.add(skill));
    if (one.session !== session) return;
    fresh.forEach((skill) => {
      const kind = tables.kinds[skill];
      begun.set(kind, (begun.get(kind) || 0) + 1);
    });
    played.add(one.card);
    if (asked[asked.length - 1] !== one.card) asked.push(one.card);
    waiting.delete(one.card);
    const lesson = one.done === "lesson";
    running = lesson ? running + 1 : 0;
    if (lesson || one.grade === 1) {
      waiting.set(one.card, { after: one.done, gap: tables.gaps[number % tables.gaps.length] });
    }
    if (!lesson) {
      if (missed.has(one.card)) returned += 1;
      if (one.grade === 1) missed.add(one.card);
      else missed.delete(one.card);
    }
  });

  const firstSession = tables.firstDay && session === 0;
  const needsLesson = (card) => {
    const kinds = newSkills(card).map((skill) => tables.kinds[skill]).filter((kind) => tables.shown.includes(kind));
    const told = firstSession && kinds.every((kind) => cards[card].told.includes(kind));
    return kinds.length > 0 && !told;
  };

  const othersSince = (card) => new Set(asked.slice(asked.lastIndexOf(card) + 1)).size;
  const planned = tables.sessions[Math.min(session, tables.sessions.length - 1)];
  const before = history.filter((one) => one.session < session && one.done === "ask");
  const first = new Map();
  before.forEach((one) => {
    if (one.session === before[before.length - 1].session && !first.has(one.card)) first.set(one.card, one.grade);
  });
  const again = [...first].filter(([, grade]) => grade === 1).map(([card]) => card).slice(0, tables.again);
  const queue = [...new Set([...planned.slice(0, 1), ...again, ...planned])].filter((card) => !aside.has(card));

  const fits = (card) => {
    const fresh = new Map();
    newSkills(card).forEach((skill) => {
      const kind = tables.kinds[skill];
      fresh.set(kind, (fresh.get(kind) || 0) + 1);
    });
    return Object.entries(tables.limits).every(
      ([kind, most]) => !fresh.has(kind) || fresh.get(kind) + (begun.get(kind) || 0) <= most,
    );
  };
  const most = tables.running[firstSession ? 0 : 1];
  const hurried = most > 0 && running >= most;
  const fresh = queue.filter((card) => !played.has(card) && fits(card));
  const due = [];
  const early = [];
  const late = [];
  const room = returned === 0 || returned < tables.share * asked.length;
  const othersOpen = new Set([...played].filter((card) => !aside.has(card)).concat(fresh)).size - 1;
  for (const wanted of ["lesson", "ask"]) {
    for (const [card, { after, gap }] of waiting) {
      if (after !== wanted || aside.has(card)) continue;
      if (othersSince(card) < Math.max(1, Math.min(gap, othersOpen))) early.push(card);
      else (wanted === "ask" && !room ? late : due).push(card);
    }
  }
  const calm = fresh.filter((card) => !(hurried && needsLesson(card)));
  const just = asked.length ? asked[asked.length - 1] : null;
  const tags = new Set(just === null ? [] : cards[just].apart);
  const other = (card) => card !== just;
  const apart = (card) => other(card) && !cards[card].apart.some((tag) => tags.has(tag));

  const order = [...new Set([...asked].reverse())].reverse();
  const onceMore = order.filter((card) => !waiting.has(card) && !aside.has(card));
  const rested = onceMore.filter((card) => othersSince(card) >= 3);
  const open = [...due, ...calm, ...fresh, ...rested, ...late, ...onceMore, ...early];
  const found = [
    ...open.filter(apart),
    ...open.filter(other),
    ...[...due, ...early].filter((card) => waiting.get(card).after === "lesson"),
  ];
  if (!found.length) return null;
  const card = found[0];
  return { do: needsLesson(card) ? "lesson" : "ask", card, new: newSkills(card) };
}

if (typeof module !== "undefined") module.exports = { nextStep };
