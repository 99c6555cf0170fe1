"use strict";
// The page of one line.
(() => {
  const { words, write, say } = stream, by = (id) => document.getElementById(id), line = document.body.dataset.line;
  let standing = null, usual = null, readings = [], spectrum = null, drawn = 0, waiting = false;

  const make = (name, text, cls) => {
    const e = document.createElement(name);
    if (text !== undefined) e.textContent = text;
    if (cls) e.className = cls;
    return e;
  };

  const take = (m) => {
    if (m.whole) { readings = []; spectrum = null; }
    if (m.usual) usual = m.usual;
    if (m.spectrum) spectrum = m.spectrum;
    for (const r of m.readings || []) put(r);
    const from = readings.length ? readings[readings.length - 1].t - 3600e3 : 0;
    while (readings.length && (readings[0].t < from || readings.length > 5000)) readings.shift();
    if (m.standing) { standing = m.standing; tell(); }
    plan();
  };

  // put replaces a reading that grew, and finds the place of one that came late.
  const put = (r) => {
    r.t = Date.parse(r.time);
    const n = readings.length;
    for (let i = n - 1; i >= Math.max(0, n - 4); i--) {
      if (readings[i].first === r.first && readings[i].condition === r.condition && readings[i].kind === r.kind) { readings[i] = r; return; }
    }
    let i = n;
    while (i > 0 && readings[i - 1].t > r.t) i--;
    readings.splice(i, 0, r);
  };

  // tell writes what the watch says.
  const tell = () => {
    const w = standing.words;
    write(by("headline"), w.headline);
    document.title = say(words.names, { line: document.querySelector(".kicker span").firstChild.textContent.replace(/ · $/, ""), headline: w.headline });
    write(by("since"), w.since);
    write(by("alarm"), w.alarm);
    write(by("instrument"), w.instrument[0]);
    write(by("instrument-why"), w.instrument.slice(1).join(" "));
    for (const id of ["distance", "scores", "spectrum"]) by(id).setAttribute("aria-label", w[id]);
    renew(by("answers"), w.answers, () => w.answers.map((a) => {
      const row = make("div"), dd = make("dd");
      for (const t of a.text) dd.append(make("p", t), " ");
      row.append(make("dt", a.question), dd);
      return row;
    }));
    renew(by("conditions"), w.conditions, () => [sheet(w.conditions)]);
    renew(by("groups"), w.groups, () => [sheet(w.groups)]);
    renew(by("reference"), w.reference, () => w.reference.map((t) => make("p", t)));
    if (by("take")) by("take").hidden = !standing.may_acknowledge;
    if (by("name")) {
      by("name").hidden = !standing.may_name;
      const chosen = by("group").value;
      renew(by("group"), standing.groups || [], () => (standing.groups || []).map((g, i) => { const o = make("option", standing.group_names[i]); o.value = g; return o; }).reverse());
      if ((standing.groups || []).includes(chosen)) by("group").value = chosen;
    }
  };

  // renew makes the children anew only where what they say is another.
  const renew = (e, what, children) => {
    const mark = JSON.stringify(what);
    if (!e || e.dataset.mark === mark) return;
    e.dataset.mark = mark;
    e.replaceChildren(...children());
  };

  const sheet = (s) => {
    if (!s.rows || !s.rows.length) return make("p", s.empty, "empty");
    const t = make("table"), head = make("tr"), body = make("tbody"), top = make("thead");
    s.heads.forEach((h, i) => { const c = make("th", h, s.numbers[i] ? "n" : ""); c.scope = "col"; head.append(c); });
    t.setAttribute("role", "table"); // said, since a telephone shows the rows as blocks
    body.setAttribute("role", "rowgroup");
    for (const r of s.rows) {
      const row = make("tr");
      row.setAttribute("role", "row");
      r.forEach((c, i) => { const d = make(i ? "td" : "th", c, i && s.numbers[i] ? "n" : c.length > 24 ? "long" : ""); d.setAttribute("role", i ? "cell" : "rowheader"); if (i) d.dataset.head = s.heads[i]; else d.scope = "row"; row.append(d); });
      body.append(row);
    }
    top.append(head);
    t.setAttribute("aria-label", s.caption);
    t.append(top, body);
    return t;
  };

  // look says what time alone changes: how old the last spectrum is, and whether what stands here is old. Before the first event
  // the page stands as it was made.
  const look = () => {
    const newest = standing && standing.last_spectrum ? Date.parse(standing.last_spectrum) : 0, old = stream.trouble(newest && Date.parse(standing.still_since), standing ? standing.quiet_after_s * 1000 : 0);
    if (standing) write(by("clock"), newest ? say(words.last, { time: stream.when(newest, true) }) + " · " + say(words.ago, { lasts: stream.lasts(stream.now() - newest) }) : words.never);
    stream.notice(old);
    document.body.classList.toggle("then", old !== "");
    if (performance.now() - drawn > 5000) plan();
  };

  // plan draws before the next frame, once for all that came until then, and not where nobody sees it.
  const plan = () => {
    if (waiting || document.hidden || !standing) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      drawn = performance.now();
      const s = { words, standing, usual, readings, spectrum, now: stream.now(), clock: stream.clock, offset: stream.offset };
      draw.distance(by("distance"), s);
      if (!usual) return;
      draw.scores(by("scores"), s);
      if (usual.at && usual.at.length > 1) draw.spectrum(by("spectrum"), s);
    });
  };

  // post asks for a change, and says where it was not done, and what is to be known of one that was.
  const post = async (what, body, said) => {
    write(said, "");
    try {
      const r = await fetch("/line/" + line + "/" + what, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
      const text = await r.text();
      write(said, r.ok ? JSON.parse(text).said || "" : say(words.failed, { reason: text.trim() }));
      return r.ok;
    } catch (e) {
      write(said, say(words.failed, { reason: String(e.message || e) }));
      return false;
    }
  };
  if (by("take")) by("take").addEventListener("submit", (e) => { e.preventDefault(); post("acknowledge", { who: by("who").value, why: by("why").value }, by("take-said")); });
  if (by("name")) {
    by("name").addEventListener("submit", async (e) => {
      e.preventDefault();
      if (await post("name", { group: by("group").value, name: by("called").value }, by("name-said"))) by("called").value = "";
    });
  }
  new ResizeObserver(plan).observe(document.querySelector(".figures"));
  stream.follow("/line/" + line + "/events", take, look);
})();
