"use strict";
// The stream of a page: what changes arrives as events; a beat every two seconds says that the watch is alive. Where three beats
// are missed the connection is lost, and is sought again for as long as the page is open.
const stream = (() => {
  const deadAfter = 6500, words = JSON.parse(document.body.dataset.words);
  let source = null, last = "", heard = performance.now(), wait = 1000, timer = 0, asking = false;
  // Until the first event the time is that at which the page was made.
  let base = Date.parse(document.body.dataset.now), at = performance.now(), lost = 0, ended = false, offsets = JSON.parse(document.body.dataset.offsets);

  // now is the time by the clock of the watch, since that of this screen may be wrong.
  const now = () => base + (performance.now() - at);

  const offset = (t) => {
    let s = 0;
    for (const o of offsets) if (!o.from || t >= Date.parse(o.from)) s = o.seconds;
    return s * 1000;
  };
  const two = (n) => String(n).padStart(2, "0");
  // clock says a time by the clocks of the site.
  const clock = (t, seconds) => {
    const d = new Date(t + offset(t));
    return two(d.getUTCHours()) + ":" + two(d.getUTCMinutes()) + (seconds ? ":" + two(d.getUTCSeconds()) : "");
  };
  // when says a time by the clocks of the site, with its day where that is not the day that it is now.
  const when = (t, seconds) => {
    const day = (u) => Math.floor((u + offset(u)) / 864e5), d = new Date(t + offset(t));
    if (day(t) === day(now())) return clock(t, seconds);
    return say(words.datetime, { date: say(words.day, { day: d.getUTCDate(), month: words.months.split(" ")[d.getUTCMonth()] }), time: clock(t, seconds) });
  };
  const say = (text, put) => text.replace(/\{(\w+)\}/g, (all, k) => (k in put ? put[k] : all));
  // lasts says a length of time.
  const lasts = (ms) => {
    const s = Math.max(0, Math.round(ms / 1000)), min = Math.floor(s / 60), h = Math.floor(min / 60);
    if (s < 60) return say(words.s, { s });
    if (min < 60) return say(words.min, { min });
    if (h < 48) return min % 60 ? say(words.hmin, { h, min: min % 60 }) : say(words.h, { h });
    return say(words.d, { d: Math.floor(h / 24) });
  };

  const hear = (e) => {
    const m = JSON.parse(e.data);
    base = Date.parse(m.now);
    at = heard = performance.now();
    return m;
  };

  const open = (address, take, look) => {
    clearTimeout(timer);
    if (source) source.close();
    source = new EventSource(last ? address + "?after=" + encodeURIComponent(last) : address);
    heard = performance.now();
    source.addEventListener("now", (e) => {
      const m = hear(e);
      if (m.assets !== document.body.dataset.assets) { location.reload(); return; }
      last = e.lastEventId;
      offsets = m.offsets;
      lost = 0;
      ended = false;
      wait = 1000;
      take(m);
      look();
    });
    source.addEventListener("beat", (e) => { hear(e); lost = 0; look(); });
    source.addEventListener("end", (e) => { hear(e); ended = true; gone(address, take, look); });
    source.onerror = () => gone(address, take, look);
  };

  const gone = (address, take, look) => {
    if (source) source.close();
    source = null;
    if (!lost) lost = now() - (performance.now() - heard);
    look();
    clearTimeout(timer);
    timer = setTimeout(() => open(address, take, look), wait);
    wait = Math.min(wait * 2, 10000);
    ask();
  };

  // ask finds out whether the page is let in still, which an event source does not tell: if not, the page anew asks for the token. One
  // question at a time, and not for long: a browser has few connections for a server that does not answer.
  const ask = () => {
    if (asking) return;
    asking = true;
    fetch("/lines.json", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout && AbortSignal.timeout(5000) })
      .then((r) => { if (r.status === 401) location.reload(); }, () => {})
      .finally(() => { asking = false; });
  };

  // follow takes each event, and looks at once and then once a second at what time alone changes.
  const follow = (address, take, look) => {
    open(address, take, look);
    look();
    setInterval(() => {
      if (source && performance.now() - heard > deadAfter) gone(address, take, look);
      else look();
    }, 1000);
    document.addEventListener("visibilitychange", () => document.hidden || look());
  };

  // trouble says why what stands here is old: "" where it is not. newest is the time of the last spectrum, quiet the longest usual pause.
  const trouble = (newest, quiet) => {
    if (lost) return say(ended ? words.stopped : words.lost, { time: when(lost) }) + " " + words.then;
    if (newest && now() - newest > quiet) return say(words.quiet, { time: when(newest) }) + " " + words.then;
    return "";
  };

  // write sets a text where it is another, so that nobody is told the same again.
  const write = (e, text) => { if (e && e.textContent !== text) e.textContent = text; };

  // notice says why what stands here is old, or "" for nothing. Until it is called the page says that its script does not run.
  const notice = (text) => {
    const e = document.getElementById("notice");
    write(e, text);
    e.classList.remove("unheard");
    e.hidden = text === "";
  };

  return { follow, now, clock, when, offset, lasts, say, words, trouble, write, notice, lost: () => lost !== 0 };
})();
