"use strict";
/* The page: it shows what the walk says comes next, takes grades, and keeps them on this phone until they are sent.
   Everything it says of the memory was worked out when the page was made; it asks no network. */

(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const KEY = `neckwork ${data.page} ${data.student}`;
  const GRADES = [null, "Looked", "Found it", "Clean", "In time"];
  const MEANT = [
    null,
    "needed the diagram",
    "right in the end",
    "all right, slowly",
    "at once, with the click",
  ];
  const GRADE_REST_MS = 300;
  const LOOK_REST_MS = 700;
  const AWAY_MS = 120000;
  const LONGEST_LOOK_S = 60;
  const MUSIC_SHARE = data.minutes >= 3 ? 0.1 : 0;

  // -- what is kept ----------------------------------------------------------

  const fresh = () => ({
    log: newId(), events: [], walk: [], session: 0, sitting: newId(), day: "", elapsed: 0, last: 0, aside: [],
    left: false, cautioned: false, extra: "",
  });
  let refused = false; // this phone keeps nothing
  let cleared = false; // what was kept is gone
  let doubled = false; // the page is open twice
  let written = null;

  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function tried() {
    try {
      localStorage.setItem(`${KEY} tried`, "yes");
      const kept = localStorage.getItem(`${KEY} tried`) === "yes";
      localStorage.removeItem(`${KEY} tried`);
      return kept;
    } catch (error) {
      return false;
    }
  }

  function read() {
    refused = !tried();
    if (refused) return fresh();
    try {
      const text = localStorage.getItem(KEY);
      return text ? Object.assign(fresh(), JSON.parse(text)) : fresh();
    } catch (error) {
      return fresh();
    }
  }

  function keep() {
    if (doubled) return;
    try {
      if (written !== null && localStorage.getItem(KEY) === null) cleared = true;
      const text = JSON.stringify(store);
      localStorage.setItem(KEY, text);
      if (localStorage.getItem(KEY) !== text) throw new Error("not kept");
      written = text;
      refused = false;
    } catch (error) {
      refused = true;
    }
  }

  let store = read();
  if (!refused && store.events.length + store.walk.length > 0) written = "";
  addEventListener("storage", (event) => {
    if (event.key !== KEY || event.newValue === written) return;
    if (event.newValue === null) cleared = true;
    else doubled = true;
    draw();
  });

  // By the clock on the wall, whatever the zone does in the night; so does Python.
  function practiceDay(moment) {
    const wall = moment.getTime() - moment.getTimezoneOffset() * 60000;
    return new Date(wall - data.dayStarts * 3600000).toISOString().slice(0, 10);
  }

  function localTime(moment) {
    const two = (number) => String(number).padStart(2, "0");
    const ahead = -moment.getTimezoneOffset();
    const shifted = new Date(moment.getTime() + ahead * 60000).toISOString().slice(0, 23);
    const minutes = Math.abs(ahead);
    return `${shifted}${ahead < 0 ? "-" : "+"}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
  }

  function log(kind, fields, id) {
    const now = new Date();
    store.last = Math.max(now.getTime(), store.last + 1);
    const event = {
      kind, id: id || newId(), log: store.log, stamp: new Date(store.last).toISOString(), at: localTime(now), ...fields,
    };
    store.events.push(event);
    return event.id;
  }

  function logReview(number, grade, attempt, seconds, spent) {
    const skills = data.tables.cards[number][0].map((skill) => data.skills[skill]);
    const fields = {
      card: data.cards[number].id, grade, seconds: rounded(seconds), attempt, skills, session: store.sitting,
      practice_day: practiceDay(new Date()),
    };
    if (spent !== null) fields.spent = rounded(spent);
    return log("review", fields);
  }

  const rounded = (seconds) => Math.round(Math.max(0, seconds) * 1000) / 1000;

  // -- where the page stands -------------------------------------------------

  const now = { phase: "start", step: null, asked: 0, revealed: 0, begun: 0, active: 0, paused: null, review: null };
  let note = "";
  let another = false;

  function enter() {
    const today = practiceDay(new Date());
    if (store.day !== today) {
      const played = store.walk.some((one) => one.session === store.session);
      if (played) store.session += 1;
      Object.assign(store, { day: today, elapsed: 0, sitting: newId(), extra: "" });
    }
  }

  const history = () => store.walk.map(({ session, done, card, grade }) => ({ session, done, card, grade }));
  const limit = () => data.minutes * 60000 * (1 - MUSIC_SHARE);

  function begin() {
    enter();
    if (!store.cautioned) {
      log("ticket", { subject: "seen:caution", value: "yes" });
      store.cautioned = true;
    }
    now.begun = Date.now() - store.elapsed;
    keep();
    next();
  }

  function next() {
    store.elapsed = Date.now() - now.begun;
    if (store.elapsed >= limit()) return end("");
    const step = nextStep(data.tables, history(), store.session, store.aside);
    if (step === null) return end("All that was planned for today is played.");
    Object.assign(now, { step, asked: Date.now(), revealed: Date.now(), phase: step.do === "lesson" ? "lesson" : "prompt" });
    keep();
    draw();
    const card = data.cards[step.card];
    if (now.phase === "prompt" && card.heard) play(card.heard);
    return undefined;
  }

  function end(why) {
    silence();
    store.elapsed = Date.now() - now.begun;
    keep();
    Object.assign(now, { phase: "end", step: null });
    note = why;
    draw();
  }

  function seen() {
    const spent = (Date.now() - now.asked) / 1000;
    const id = logReview(now.step.card, 2, "repeat", 0, spent);
    store.walk.push({ session: store.session, done: "lesson", card: now.step.card, grade: 0, ids: [id] });
    note = "";
    next();
  }

  function reveal() {
    Object.assign(now, { phase: "answer", revealed: Date.now() });
    note = "";
    draw();
    const sound = data.cards[now.step.card].sound;
    if (data.cards[now.step.card].heard && sound) play(sound);
  }

  function unknown() {
    if (Date.now() - now.asked < LOOK_REST_MS) return;
    now.revealed = Date.now();
    graded(1);
  }

  function grade(value) {
    if (Date.now() - now.revealed < GRADE_REST_MS) return;
    graded(value);
  }

  function graded(value) {
    const seconds = Math.min((now.revealed - now.asked) / 1000, LONGEST_LOOK_S);
    const spent = Math.max((Date.now() - now.asked) / 1000, seconds);
    const id = logReview(now.step.card, value, "first", seconds, spent);
    const told = now.step.new;
    store.walk.push({
      session: store.session, done: "ask", card: now.step.card, grade: value, ids: [id], seconds, spent, told, slip: "",
    });
    note = "";
    if (value !== 1) return next();
    Object.assign(now, { phase: "repeat", revealed: Date.now() });
    keep();
    return draw();
  }

  function again() {
    if (Date.now() - now.revealed < GRADE_REST_MS) return;
    lastAsked().ids.push(logReview(now.step.card, 2, "repeat", 0, null));
    next();
  }

  function lastAsked() {
    for (let place = store.walk.length - 1; place >= 0; place -= 1) {
      if (store.walk[place].done === "ask") return store.walk[place];
    }
    return null;
  }

  function takeBack() {
    const last = lastAsked();
    if (last === null || last.session !== store.session) {
      note = "There is no grade to take back.";
      return draw();
    }
    [...last.ids].reverse().forEach((target) => log("undo", { target }));
    store.walk.splice(store.walk.indexOf(last), 1);
    const step = { do: "ask", card: last.card, new: last.told };
    const at = Date.now() - last.spent * 1000;
    Object.assign(now, { phase: "answer", step, asked: at, revealed: at + last.seconds * 1000 });
    note = "Taken back: grade it again.";
    keep();
    return draw();
  }

  function slipped(slip) {
    const last = lastAsked();
    log("slip", { target: last.ids[0], slip });
    last.slip = slip;
    keep();
    draw();
  }

  function hurts() {
    const card = now.step === null ? null : data.cards[now.step.card];
    if (card !== null && card.hurts) {
      const [subject, value] = card.hurts;
      log("ticket", value === null ? { subject } : { subject, value });
      if (card.reach !== undefined) {
        const form = subject;
        data.cards.forEach((other, number) => {
          const same = other.hurts && other.hurts[0] === form;
          const wide = other.reach !== undefined && other.reach >= card.reach - 0.05;
          if ((same || wide) && !store.aside.includes(number)) store.aside.push(number);
        });
      }
    } else {
      log("ticket", { subject: "hurt:no form" });
    }
    end("");
    now.phase = "hurts";
    draw();
  }

  function flagged() {
    log("flag", { card: data.cards[now.step.card].id, text: "" });
    note = "Marked for your teacher.";
    keep();
    draw();
  }

  // -- time ------------------------------------------------------------------

  function touched() {
    now.active = Date.now();
  }

  function pause(at, why) {
    now.paused = at;
    note = why;
    silence();
    draw();
  }

  function goOn() {
    const gone = Date.now() - now.paused;
    ["begun", "asked", "revealed"].forEach((name) => {
      now[name] += gone;
    });
    now.paused = null;
    note = "";
    draw();
  }

  setInterval(() => {
    const playing = ["prompt", "answer", "repeat"].includes(now.phase) && now.paused === null;
    if (playing && Date.now() - now.active >= AWAY_MS) {
      const usual = Math.min(data.cards[now.step.card].seconds * 1000, AWAY_MS);
      pause(now.active + usual, "Two minutes without a tap: the clock stopped by itself, and the time away does not count.");
    }
    clock();
  }, 1000);

  function clock() {
    const place = document.getElementById("clock");
    if (["start", "end", "hurts"].includes(now.phase)) {
      place.textContent = "";
      return;
    }
    const gone = (now.paused === null ? Date.now() : now.paused) - now.begun;
    place.textContent = `${Math.floor(gone / 60000)} of ${data.minutes} min`;
  }

  // -- sound -----------------------------------------------------------------

  let context = null;
  let sounding = null;

  function silence() {
    if (sounding !== null) {
      try {
        sounding.stop();
      } catch (error) {
        /* it has ended by itself */
      }
      sounding = null;
    }
  }

  function play(parts) {
    if (!data.sound) return;
    silence();
    try {
      context = context || new (window.AudioContext || window.webkitAudioContext)();
      context.resume();
      const samples = performed(data.sound, parts);
      const buffer = context.createBuffer(1, samples.length, data.sound.rate);
      buffer.copyToChannel(samples, 0);
      sounding = context.createBufferSource();
      sounding.buffer = buffer;
      sounding.connect(context.destination);
      sounding.start();
    } catch (error) {
      note = "This browser makes no sound.";
      draw();
    }
  }

  // -- drawing ---------------------------------------------------------------

  function made(tag, attributes, ...children) {
    const element = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => {
      if (name === "tap") element.addEventListener("click", value);
      else if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value);
    });
    element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
    return element;
  }

  const button = (words, tap, name, more) =>
    made("button", { type: "button", class: name || "", tap: () => { touched(); tap(); } }, words, more || "");

  function drawing(number) {
    const [wide, high, words, parts] = data.drawings[number];
    const space = "http://www.w3.org/2000/svg";
    const svg = document.createElementNS(space, "svg");
    svg.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", words.map((phrase) => data.phrases[phrase]).join("; "));
    svg.setAttribute("class", "drawing");
    const add = (tag, attributes, text) => {
      const element = document.createElementNS(space, tag);
      Object.entries(attributes).forEach(([name, value]) => element.setAttribute(name, value));
      if (text !== undefined) element.textContent = text;
      svg.append(element);
    };
    parts.map((part) => data.parts[part]).forEach(([what, ...rest]) => {
      if (what === "l") {
        const [x1, y1, x2, y2, width] = rest;
        add("line", { x1, y1, x2, y2, "stroke-width": width, class: "ink" });
      } else if (what === "r") {
        const [x, y, width, height, filled, line] = rest;
        add("rect", { x, y, width, height, "stroke-width": line, class: filled ? "ink full" : "ink" });
      } else if (what === "c") {
        const [cx, cy, r, filled, line] = rest;
        add("circle", { cx, cy, r, "stroke-width": line, class: filled ? "ink full" : "ink" });
      } else {
        const [x, y, text, size, anchor, bold, white] = rest;
        const weight = bold ? "bold" : "normal";
        add("text", { x, y, "font-size": size, "text-anchor": anchor, "font-weight": weight, class: white ? "paper" : "words" }, text);
      }
    });
    return svg;
  }

  function call(card) {
    return [
      made("h1", { class: "call", tabindex: "-1" }, card.call),
      card.detail ? made("p", { class: "detail" }, card.detail) : null,
      card.note ? made("p", { class: "quiet" }, card.note) : null,
    ];
  }

  const called = (card) => made("h1", { class: "called", tabindex: "-1" }, [card.call, card.detail].filter(Boolean).join(", "));

  function answer(card) {
    const found = [];
    (card.said || []).forEach((line) => found.push(made("p", { class: "said" }, line)));
    (card.shapes || []).forEach((shape) => {
      if (card.shapes.length > 1) found.push(made("p", { class: "head" }, shape.head));
      found.push(drawing(shape.drawing));
      found.push(made("p", { class: "fingers" }, `Fingers ${shape.fingers}`), made("p", { class: "quiet" }, shape.notes));
      shape.remarks.forEach((remark) => found.push(made("p", { class: "quiet" }, remark)));
    });
    if (card.after !== undefined) found.push(drawing(card.after));
    if (card.beside) {
      const beside = card.beside.map(([head, number, fingers]) => [
        made("p", { class: "head" }, head), drawing(number), made("p", { class: "quiet" }, `Fingers ${fingers}`),
      ]);
      found.push(made("details", {}, made("summary", {}, "Grip and mode at the same place"), ...beside.flat()));
    }
    return made("div", { class: "answer" }, found);
  }

  function slips(words) {
    const last = lastAsked();
    const card = last && data.cards[last.card];
    if (!last || !card.slips || last.slip || last.grade > 2) return null;
    const choices = card.slips.map((slip) => button(slip, () => slipped(slip), "slip"));
    return made("div", { class: "slips", role: "group", "aria-label": words }, made("span", {}, words), choices);
  }

  const hear = (card) => (data.sound && card.sound ? button("Hear it", () => play(card.sound), "quietly") : null);

  const row = (...buttons) => made("div", { class: "row" }, buttons);

  function cross(middle) {
    const key = (value, place) =>
      button(made("b", {}, GRADES[value]), () => grade(value), `grade ${place}`, made("small", {}, MEANT[value]));
    return made(
      "div", { class: "cross", role: "group", "aria-label": "How did the first try go?" },
      key(4, "up"), key(1, "left"), middle ? made("div", { class: "middle" }, middle) : null, key(3, "right"), key(2, "down"),
    );
  }

  function screen() {
    const { step } = now;
    if (now.paused !== null) {
      return [[made("h1", { tabindex: "-1" }, "Paused"), made("p", {}, note)], [button("Go on", goOn, "main")]];
    }
    if (now.phase === "start") return startScreen();
    if (now.phase === "end" || now.phase === "hurts") return endScreen();
    const card = data.cards[step.card];
    if (now.phase === "lesson") {
      const kinds = ["form", "root", "ear"].filter((kind) => step.new.some((skill) => data.tables.kinds[skill] === kind));
      const lessons = card.lessons || {};
      const [asked, place] =
        lessons[kinds.join(" ")] || lessons[kinds[0]] || lessons["form root"] || ["Something new. Slowly, twice.", ""];
      return [
        [made("p", { class: "strong" }, asked), place ? made("p", {}, place) : null, called(card), answer(card)],
        [slips("Last one:"), row(hear(card), button("Done, twice", seen, "main"))],
      ];
    }
    if (now.phase === "prompt") {
      const told = step.new.some((skill) => data.tables.kinds[skill] === "root") && card.root;
      return [
        [
          ...call(card), told ? made("p", { class: "quiet" }, `Root: ${card.root}.`) : null,
          card.context ? made("p", { class: "quiet" }, card.context) : null,
          card.before !== undefined ? drawing(card.before) : null, made("p", { class: "quiet" }, card.ask),
        ],
        [
          slips("Last one:"),
          row(
            button("I don't know: show me", unknown, "quietly"),
            card.heard ? button("Hear it again", () => play(card.heard), "quietly") : null,
          ),
          button("Show the answer", reveal, "main"),
        ],
      ];
    }
    if (now.phase === "answer") return [[called(card), answer(card)], [cross(hear(card))]];
    return [
      [made("p", { class: "strong" }, "Now play it right, twice, looking."), called(card), answer(card)],
      [slips("What slipped?"), row(hear(card), button("Done", again, "main"))],
    ];
  }

  function count(number, noun) {
    return `${number} ${noun}${number === 1 ? "" : "s"}`;
  }

  function startScreen() {
    const planned = data.tables.sessions.length;
    const today = practiceDay(new Date());
    const played = store.walk.some((one) => one.session === store.session);
    const number = store.session + 1 + (store.day && store.day !== today && played ? 1 : 0);
    const more = number > planned
      ? "The plan of this page is at its end: ask for a new one. Until then the last session comes again."
      : `Session ${number} of ${planned} on this page, ${count(data.minutes, "minute")}.`;
    const kept = store.events.length
      ? `${count(grades(), "grade")} kept on this phone, not sent yet.`
      : "No grade of this page is waiting on this phone.";
    return [
      [
        made("h1", { tabindex: "-1" }, data.title), data.student ? made("p", { class: "detail" }, data.student) : null,
        made("p", {}, more),
        made("div", { class: "caution" }, made("h2", {}, "Before you start"), data.cautions.map((text) => made("p", {}, text))),
        refused ? null : made("p", { class: "quiet" }, kept),
        made("p", { class: "quiet" }, `Made ${data.made}. Tried in desktop engines only. Nothing leaves this phone unless you send it.`),
      ],
      [
        store.events.length ? sending() : null,
        button(store.left ? "Grades for the right thumb" : "Grades for the left thumb", () => { store.left = !store.left; keep(); draw(); }, "quietly"),
        button(played && store.day === today ? "Go on" : "Start", begin, "main"),
      ],
    ];
  }

  const grades = () => {
    const gone = new Set(store.events.filter((one) => one.kind === "undo").map((one) => one.target));
    return store.events.filter((one) => one.kind === "review" && one.attempt === "first" && !gone.has(one.id)).length;
  };

  function endScreen() {
    const mine = store.walk.filter((one) => one.session === store.session);
    const first = new Map();
    const fresh = new Set(mine.filter((one) => one.done === "lesson").map((one) => one.card));
    mine.forEach((one) => {
      if (one.done === "ask" && !first.has(one.card) && !fresh.has(one.card)) first.set(one.card, one.grade);
    });
    const tries = [...first.values()];
    const clean = tries.filter((value) => value >= 3).length;
    const missed = [...first].filter(([, value]) => value === 1).map(([card]) => data.cards[card].call);
    const lines = [];
    if (now.phase === "hurts") {
      lines.push("Stopped. Let the hand rest now; everything graded is kept.", data.cautions[0]);
      if (store.aside.length) lines.push(`${count(store.aside.length, "card")} of this page that stretch as far are left out.`);
    } else {
      lines.push(`First tries: ${clean} of ${tries.length} clean. New today: ${count(fresh.size, "card")}.`);
      if (missed.length) lines.push(`Early next time: ${missed.slice(0, data.tables.again).join(", ")}.`);
      const last = lastAsked();
      if (MUSIC_SHARE && last) lines.push(`A musical minute with ${data.cards[last.card].call}: slow phrases, chord tones first.`);
    }
    return [
      [made("h1", { tabindex: "-1" }, "Done."), lines.map((line) => made("p", {}, line))],
      [
        sending(),
        now.phase === "end" && !store.extra
          ? button("Ten more, after a minute's rest", () => { store.extra = "yes"; store.elapsed = 0; begin(); }, "quietly")
          : null,
        now.phase === "hurts" && store.aside.length
          ? button("Nothing hurts: bring them back", () => { unhurt(); }, "quietly")
          : null,
      ],
    ];
  }

  function unhurt() {
    const back = new Set(store.aside.map((number) => data.cards[number].hurts && data.cards[number].hurts[0]));
    store.events.filter((one) => one.kind === "ticket" && one.value && back.has(one.subject))
      .forEach((one) => log("ticket", { subject: one.subject }));
    store.aside = [];
    keep();
    draw();
  }

  // -- sending ---------------------------------------------------------------

  let sent = 0;

  const fileText = () => {
    const rows = store.events.map((event) => JSON.stringify(event)).join(",\n");
    return `{"format": "review-log", "version": 1, "events": [\n${rows}\n]}\n`;
  };
  const fileName = () => {
    // The teacher's sheet goes by the name: only what no file name may hold is left out of it.
    const who = (data.student || data.title).replace(/[\\/:*?"<>|\p{C}]+/gu, "-").replace(/^[-. ]+|[-. ]+$/g, "") || "grades";
    return `${who}-${practiceDay(new Date())}.json`;
  };

  function sending() {
    const file = () => new File([fileText()], fileName(), { type: "application/json" });
    const marked = (how) => () => { sent = store.events.length; how(); draw(); };
    const download = () => {
      const link = made("a", { href: URL.createObjectURL(file()), download: fileName() });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    };
    const shares = (() => {
      try {
        return Boolean(navigator.canShare && navigator.canShare({ files: [file()] }));
      } catch (error) {
        return false;
      }
    })();
    const area = document.getElementById("copy");
    return made(
      "div", { class: "send", role: "group", "aria-label": "Send your grades" },
      shares ? button("Share", marked(() => navigator.share({ files: [file()] }).catch(() => { sent = 0; draw(); })), "quietly") : null,
      button("Save a file", marked(download), "quietly"),
      button("Show as text", marked(() => { copying = !copying; }), "quietly"),
      copying ? made("textarea", { id: "copy", readonly: "", rows: "6", "aria-label": "Your grades as text: copy all of it" }, fileText()) : null,
      sent && sent <= store.events.length
        ? button("It is saved: clear it here", () => { store.events.splice(0, sent); sent = 0; copying = false; keep(); draw(); }, "quietly")
        : null,
    );
  }

  let copying = false;

  function notices() {
    if (doubled) return "This page is open twice. Close the other one and load this one again.";
    if (refused) return "This browser keeps nothing for this page: save the file after each grade.";
    if (cleared) return "What this browser kept was cleared while you played. This page still holds it: save the file.";
    return "";
  }

  function draw() {
    const main = document.getElementById("main");
    const foot = document.getElementById("foot");
    const [above, below] = screen();
    const warning = notices();
    document.body.className = store.left ? "left" : "right";
    main.replaceChildren(
      ...[warning ? made("p", { class: "warning", role: "alert" }, warning) : null,
        note && now.paused === null ? made("p", { class: "note", role: "status" }, note) : null, ...above.flat()]
        .filter((each) => each !== null && each !== undefined),
    );
    const playing = !["start", "end", "hurts"].includes(now.phase);
    foot.replaceChildren(
      ...below.flat().filter((each) => each !== null && each !== undefined),
      ...(playing && now.paused === null
        ? [made("div", { class: "more" },
          warning ? sending() : "", button("Undo", takeBack), button("Ask teacher", flagged),
          button("Pause", () => pause(Date.now(), "The clock stands.")), button("Stop", () => end("")),
          button("Hand hurts", hurts))]
        : []),
    );
    clock();
    document.getElementById("where").textContent = data.student || "";
    const head = main.querySelector("h1");
    if (head) head.focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  const KEYS = { ArrowUp: 4, ArrowDown: 2, ArrowLeft: 1, ArrowRight: 3, t: 4, f: 2, l: 1, c: 3 };
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.repeat || event.target.tagName === "TEXTAREA") return;
    touched();
    const value = KEYS[event.key];
    if (now.phase === "answer" && now.paused === null && value) {
      event.preventDefault();
      grade(value);
    } else if (now.phase === "prompt" && now.paused === null && value === 1) {
      event.preventDefault();
      unknown();
    } else if (event.key === "u" && now.step !== null) {
      takeBack();
    }
  });

  touched();
  draw();
})();
