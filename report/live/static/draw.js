"use strict";
// Pictures of the live page, as SVG. Every text is set as text: nothing of it is ever read as markup.
const draw = (() => {
  const node = (name, attributes, ...children) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    for (const c of children) if (c) e.append(c);
    return e;
  };
  const fixed = (v) => v.toFixed(1);
  const say = (text, put) => text.replace(/\{(\w+)\}/g, (all, k) => (k in put ? put[k] : all));
  const path = (pts, close) => (pts.length ? "M" + pts.map((p) => fixed(p[0]) + " " + fixed(p[1])).join("L") + (close ? "Z" : "") : "");

  // number writes v with the decimal mark of the language and a true minus.
  const number = (v, decimals, words) => {
    const s = v.toFixed(decimals);
    return (/^-[0.]*$/.test(s) ? s.slice(1) : s).replace(".", words.decimal).replace("-", "−");
  };

  // ticks are the round numbers between lo and hi, in at most n steps; a power of ten is taken out of very small and large ones.
  const ticks = (lo, hi, n, words) => {
    if (!(hi > lo)) return { at: [], power: "" };
    const raw = (hi - lo) / n, p = 10 ** Math.floor(Math.log10(raw));
    const d = [1, 2, 5, 10].map((m) => m * p).find((s) => s >= raw * (1 - 1e-9));
    const top = Math.max(Math.abs(lo), Math.abs(hi));
    let unit = 1, power = "";
    if (top < 2e-2 || top >= 1e5) {
      const e = Math.floor(Math.log10(top));
      unit = 10 ** e;
      power = " ×10" + String(e).replace(/./g, (c) => (c === "-" ? "⁻" : "⁰¹²³⁴⁵⁶⁷⁸⁹"[c]));
    }
    const decimals = Math.max(0, -Math.floor(Math.log10(d / unit) + 1e-9)), at = [];
    for (let i = Math.ceil(lo / d - 1e-9); i * d <= hi + d * 1e-9; i++) at.push([i * d, number((i * d) / unit, decimals, words)]);
    return { at, power };
  };

  // width measures the place of a drawing. An empty one is not shown, and has none until something stands in it.
  const width = (host) => {
    if (!host.firstChild) host.append(node("svg", {}));
    return Math.max(200, host.clientWidth);
  };

  // A panel is a drawing of a width and height with room for axes, and remembers where words stand.
  const panel = (host, height, room) => {
    const w = width(host), svg = node("svg", { width: w, height, viewBox: `0 0 ${w} ${height}`, "aria-hidden": "true" });
    const p = { svg, w, h: height, x0: room.left, x1: w - room.right, y0: height - room.bottom, y1: room.top, taken: [] };
    p.add = (name, attributes, ...children) => { const e = node(name, attributes, ...children); svg.append(e); return e; };
    p.text = (x, y, text, anchor, cls) => p.add("text", { x: fixed(x), y: fixed(y), "text-anchor": anchor || "start", class: cls || "" }, document.createTextNode(text));
    p.keep = (x, y, r) => p.taken.push([x - r, y - r, x + r, y + r]);
    // name writes at the first of some places where it stands in the panel and on no other word, else at none.
    p.name = (text, cls, places) => {
      const wide = text.length * (cls.includes("hue") ? 7.4 : 6.7);
      for (const [x, y, anchor] of places) {
        const left = anchor === "end" ? x - wide : anchor === "middle" ? x - wide / 2 : x, box = [left, y - 11, left + wide, y + 3];
        if (box[0] < p.x0 - 2 || box[2] > p.w - 2 || box[1] < p.y1 - 2 || box[3] > p.y0 + 1) continue;
        if (p.taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1])) continue;
        p.taken.push(box);
        p.text(x, y, text, anchor, cls + " halo");
        return true;
      }
      return false;
    };
    p.show = () => host.replaceChildren(svg);
    return p;
  };

  const around = (x, y, r) => [[x + r, y + 4, "start"], [x - r, y + 4, "end"], [x, y - r, "middle"], [x, y + r + 10, "middle"], [x + r, y - r, "start"], [x - r, y - r, "end"]];

  const marks = {
    inside: (x, y, r) => `M${fixed(x - r)} ${fixed(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`,
    outside: (x, y, r) => marks.inside(x, y, r),
    elsewhere: (x, y, r) => `M${fixed(x - r)} ${fixed(y)}h${2 * r}M${fixed(x)} ${fixed(y - r)}v${2 * r}`,
  };

  const yAxis = (p, y, all, label) => {
    p.add("path", { class: "axis", d: `M${p.x0} ${p.y1}V${p.y0}` });
    for (const [v, text] of all) {
      p.add("path", { class: "axis", d: `M${p.x0 - 4} ${fixed(y(v))}H${p.x0}` });
      p.text(p.x0 - 7, y(v) + 4.5, text, "end");
    }
    if (label) p.text(2, p.y1 - 8, label);
  };
  const xAxis = (p, x, all, at, label) => {
    p.add("path", { class: "axis", d: `M${p.x0} ${at}H${p.x1}` });
    for (const [v, text] of all) {
      p.add("path", { class: "axis", d: `M${fixed(x(v))} ${at}v4` });
      p.text(x(v), at + 17, text, "middle");
    }
    if (label) p.text(p.x1, at + 34, label, "end");
  };

  // stretches joins neighbouring readings of which f tells the same name, unless a pause lies between.
  const stretches = (readings, quiet, f) => {
    const all = [];
    let open = null;
    for (const r of readings) {
      const name = f(r);
      if (open && open.name === name && r.t - open.to <= quiet) { open.to = r.t; continue; }
      open = name === null ? null : { name, from: r.t, to: r.t };
      if (open) all.push(open);
    }
    return all;
  };

  // distance draws the last hour: linear up to the limit and logarithmic above it, as the pictures of the reports.
  const distance = (host, s) => {
    const w = width(host), narrow = w < 560, p = panel(host, narrow ? 240 : Math.max(250, Math.min(340, w * 0.23)), { left: 40, right: 22, top: 26, bottom: 44 });
    const { words, readings, standing } = s, end = readings.length ? readings[readings.length - 1].t : s.now;
    // The hour until now; where spectra stopped coming long ago, the last hour that there is.
    const t1 = s.now - end > 2700e3 ? end : Math.max(s.now, end), t0 = t1 - 3600e3, quiet = standing.quiet_after_s * 1e3;
    const top = readings.reduce((m, r) => (r.kind !== "elsewhere" && r.high > m ? r.high : m), 2);
    const hi = [2, 5, 10, 20, 50, 100, 200, 500].find((v) => top <= v) || 10 ** Math.ceil(Math.log10(top));
    const warp = (d) => (d <= 1 ? d : 1 + Math.log(d));
    const x = (t) => p.x0 + ((t - t0) / (t1 - t0)) * (p.x1 - p.x0), y = (d) => p.y0 - (warp(d) / warp(hi)) * (p.y0 - p.y1);
    const yt = [0, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 10000].filter((v) => v <= hi && (hi <= 50 || ![2, 20, 50, 200, 500].includes(v))).map((v) => [v, number(v, v === 0.5 ? 1 : 0, words)]);
    if (standing.verdict === "the process has changed" && standing.since) {
      const from = Math.max(p.x0, x(Date.parse(standing.since)));
      if (from < p.x1) {
        p.add("rect", { class: "wash", x: fixed(from), y: p.y1, width: fixed(p.x1 - from), height: p.y0 - p.y1 });
        if (from > p.x0) p.add("path", { class: "edge", d: `M${fixed(from)} ${p.y1}V${p.y0}` });
        const note = hi > 2 && !narrow ? words.note.length * 6.7 + 12 : 0, fits = from + words.changed.length * 7 < p.x1 - note;
      p.text(fits ? from : p.x1 - note, p.y1 - 8, words.changed, fits ? "start" : "end", "name"); // above, where no mark hides it
      }
    }
    for (const [v] of yt) if (v > 0 && v !== 1) p.add("path", { class: "rule", d: `M${p.x0} ${fixed(y(v))}H${p.x1}` });
    gaps(p, s, x, t0, t1, quiet);
    dots(p, readings.filter((r) => r.t >= t0), x, y, hi);
    p.add("path", { class: "limit", d: `M${p.x0} ${fixed(y(1))}H${p.x1}` });
    p.name(words.limit, "name", [[p.x0 + 5, y(1) - 5, "start"], [p.x1 - 5, y(1) - 5, "end"]]);
    const last = readings.length && readings[readings.length - 1];
    if (last && last.distance !== null && last.t > t0 && last.distance <= hi) {
      p.add("circle", { class: "newest", cx: fixed(x(last.t)), cy: fixed(y(last.distance)), r: 6 });
    }
    conditions(p, stretches(readings.filter((r) => r.t >= t0), quiet, (r) => (r.kind === "elsewhere" || r.kind === "unfit" ? r.name : null)), x);
    // The first and last times, and between them round ones that stand clear of both.
    const step = narrow ? 15 : 10, xt = [[t0, s.clock(t0)], [t1, s.clock(t1)]];
    for (let t = Math.ceil((t0 + s.offset(t0)) / (step * 6e4)) * step * 6e4 - s.offset(t0); t <= t1; t += step * 6e4) {
      if (x(t) > p.x0 + 46 && x(t) < p.x1 - 46) xt.push([t, s.clock(t)]);
    }
    yAxis(p, y, yt);
    xAxis(p, x, xt, p.y0 + 18);
    if (hi > 2 && !narrow) p.text(p.x1, p.y1 - 8, words.note, "end");
    p.show();
  };

  // gaps hatches where no spectra came.
  const gaps = (p, s, x, t0, t1, quiet) => {
    const at = s.readings.map((r) => r.t);
    if (at.length) at.push(t1);
    for (let i = 1; i < at.length; i++) {
      const a = at[i - 1], b = at[i];
      if (b - a <= quiet || b <= t0) continue;
      const x0 = x(Math.max(a, t0)), x1 = x(b), h = p.y0 - p.y1;
      let d = "";
      for (let u = x0 - h; u < x1; u += 9) {
        const l = Math.max(u, x0), r = Math.min(u + h, x1);
        if (r > l) d += `M${fixed(l)} ${fixed(p.y0 - (l - u))}L${fixed(r)} ${fixed(p.y0 - (r - u))}`;
      }
      p.add("path", { class: "hatch", d });
      p.name(s.words.gap, "", [[(x0 + x1) / 2, p.y0 - 10, "middle"]].filter(() => x1 - x0 > 80));
    }
  };

  // dots draws each reading, and its least and greatest where several share one.
  const dots = (p, readings, x, y, hi) => {
    const d = { inside: "", outside: "", elsewhere: "" }, dense = readings.length > (p.x1 - p.x0) / 3;
    const r = dense ? 1.7 : 2.8;
    let spans = "", beyond = null;
    for (const v of readings) {
      if (v.distance === null) continue;
      if (v.distance > hi) {
        if (beyond === null || x(v.t) - beyond > 16) p.add("path", { class: "m-far", d: `M${fixed(Math.max(x(v.t), p.x0 + 7))} ${p.y1}l5 8h-10Z` });
        beyond = x(v.t);
        continue;
      }
      d[v.kind] += marks[v.kind](x(v.t), y(v.distance), r);
      if (v.high > v.low && v.high <= hi) spans += `M${fixed(x(v.t))} ${fixed(y(v.low))}V${fixed(y(v.high))}`;
    }
    if (spans) p.add("path", { class: "usual", d: spans, opacity: 0.35 });
    for (const k of ["elsewhere", "inside", "outside"]) if (d[k]) p.add("path", { class: "m-" + k, d: d[k], opacity: dense ? 0.6 : 0.8 });
  };

  // conditions draws the band of named conditions below the panel.
  const conditions = (p, all, x) => {
    const y = p.y0 + 3;
    all.forEach((c, i) => {
      const x0 = Math.max(p.x0, x(c.from)), x1 = Math.max(x(c.to), x0 + 2), wide = c.name.length * 6.7 + 6;
      p.add("rect", { class: "bar", x: fixed(x0), y, width: fixed(x1 - x0), height: 12 });
      p.add("path", { class: "edge", d: `M${fixed(x0)} ${y}v12` });
      const free = i + 1 < all.length ? x(all[i + 1].from) : p.x1;
      if (wide <= x1 - x0) p.text((x0 + x1) / 2, y + 10.5, c.name, "middle", "name");
      else if (x1 + wide < free) p.text(x1 + 4, y + 10.5, c.name, "start", "name");
    });
  };

  // scores draws the usual cloud, its limit, the conditions, and the newest spectra, the newest strongest.
  const scores = (host, s) => {
    const p = panel(host, Math.min(520, Math.max(320, width(host) * 0.82)), { left: 58, right: 14, top: 26, bottom: 44 });
    const u = s.usual, newest = s.readings.filter((r) => r.score && r.t > Math.min(s.now, s.readings[s.readings.length - 1].t) - 3600e3).slice(-80), { words } = s;
    const view = extent(u, newest);
    const x = (v) => p.x0 + ((v - view[0]) / (view[1] - view[0])) * (p.x1 - p.x0), y = (v) => p.y0 - ((v - view[2]) / (view[3] - view[2])) * (p.y0 - p.y1);
    const id = "cut-" + host.id, inner = p.add("g", { "clip-path": `url(#${id})` });
    p.add("clipPath", { id }, node("rect", { x: p.x0, y: p.y1, width: p.x1 - p.x0, height: p.y0 - p.y1 }));
    const place = (line) => line.map((q) => [x(q[0]), y(q[1])]);
    for (const c of u.cloud || []) {
      inner.append(node("path", { class: "c" + Math.round(100 * c.share), "fill-rule": "evenodd", d: c.rings.map((r) => path(place(r), true)).join("") }));
    }
    for (const c of u.conditions || []) inner.append(node("path", { class: "place", d: path(place(c.line), true) }));
    for (const v of u.ends || []) inner.append(node("path", { class: "limit", d: `M${fixed(x(v))} ${p.y1}V${p.y0}` }));
    if (u.limit) inner.append(node("path", { class: "limit", d: path(place(u.limit), true) }));
    let beyond = 0;
    newest.forEach((r, i) => {
      const at = [x(r.score[0]), y(r.score[1])];
      if (at[0] < p.x0 || at[0] > p.x1 || at[1] < p.y1 || at[1] > p.y0) { beyond += r.spectra; return; }
      p.add("path", { class: "m-" + r.kind, d: marks[r.kind](at[0], at[1], 3.2), opacity: (0.25 + (0.65 * (i + 1)) / newest.length).toFixed(2) });
    });
    names(p, s, newest, place, x, y);
    if (beyond) p.name(say(words.beyond, { n: beyond }), "", [[p.x1 - 4, p.y1 + 14, "end"], [p.x0 + 6, p.y1 + 14, "start"]]);
    const xt = ticks(view[0], view[1], 5, words), yt = ticks(view[2], view[3], 6, words);
    if (u.labels[1]) yAxis(p, y, yt.at, u.labels[1] + yt.power);
    else yAxis(p, y, []); // one score alone
    xAxis(p, x, xt.at, p.y0, u.labels[0] + xt.power);
    p.show();
  };

  // names writes what the score plot shows at the things themselves, the newest spectrum first.
  const names = (p, s, newest, place, x, y) => {
    const u = s.usual, last = newest[newest.length - 1];
    if (last) {
      const at = [Math.min(p.x1 - 7, Math.max(p.x0 + 7, x(last.score[0]))), Math.min(p.y0 - 7, Math.max(p.y1 + 7, y(last.score[1])))];
      p.add("circle", { class: "newest", cx: fixed(at[0]), cy: fixed(at[1]), r: 7 });
      p.keep(at[0], at[1], 8);
      p.name(say(s.words.newest, { time: s.clock(last.t) }), "hue", around(at[0], at[1], 12));
    }
    for (const c of u.conditions || []) {
      const rim = place(c.line).filter((q) => q[0] > p.x0 + 4 && q[0] < p.x1 - 4 && q[1] > p.y1 + 12 && q[1] < p.y0 - 4);
      if (rim.length) p.name(c.name, "name", rim.filter((_, i) => i % 4 === 0).flatMap((q) => around(q[0], q[1], 5)));
      else wedge(p, c, place);
    }
    if (u.limit) p.name(s.words.limit, "", place(u.limit).filter((_, i) => i % 4 === 1).flatMap((q) => [[q[0] + 5, q[1] - 4, "start"], [q[0] - 5, q[1] - 4, "end"], [q[0] + 5, q[1] + 13, "start"]]));
    if (u.ends) p.name(s.words.limit, "", u.ends.flatMap((v) => [[x(v) + 5, p.y1 + 14, "start"], [x(v) - 5, p.y1 + 14, "end"]]));
    const ring = u.cloud && u.cloud.length ? place(u.cloud[u.cloud.length - 1].rings[0]) : [];
    if (ring.length) {
      const low = ring.reduce((m, q) => (q[1] > m[1] ? q : m));
      p.name(s.words.usual, "", around(low[0], low[1], 6).reverse());
    }
  };

  // wedge points from the edge to a condition that lies beyond it.
  const wedge = (p, c, place) => {
    const q = place(c.line), cx = q.reduce((a, b) => a + b[0], 0) / q.length, cy = q.reduce((a, b) => a + b[1], 0) / q.length;
    const mx = (p.x0 + p.x1) / 2, my = (p.y0 + p.y1) / 2, dx = cx - mx, dy = cy - my;
    const f = Math.min((p.x1 - mx - 5) / Math.abs(dx || 1e-9), (my - p.y1 - 5) / Math.abs(dy || 1e-9));
    if (f >= 1) return;
    const x = mx + f * dx, y = my + f * dy, turn = (Math.atan2(dy, dx) * 180) / Math.PI;
    if (p.name(c.name, "name", around(x, y, 9))) p.add("path", { class: "m-far", d: "M5 0L-4 4.5V-4.5Z", transform: `translate(${fixed(x)} ${fixed(y)}) rotate(${fixed(turn)})` });
  };

  // extent reaches over usual and its limit, and over the newest spectra in production as far as usual can still be seen.
  const extent = (u, newest) => {
    const core = [...(u.limit || []), ...(u.ends || []).map((v) => [v, 0]), ...(u.cloud || []).flatMap((c) => c.rings.flat())];
    const pts = newest.filter((r) => r.kind !== "elsewhere").map((r) => r.score);
    const base = bounds(core.length ? core : pts.length ? pts : [[0, 0]]), all = bounds([...pts, [base[0], base[2]], [base[1], base[3]]]);
    const most = 6, w = base[1] - base[0], h = base[3] - base[2];
    const v = [Math.max(all[0], base[0] - most * w), Math.min(all[1], base[1] + most * w), Math.max(all[2], base[2] - most * h), Math.min(all[3], base[3] + most * h)];
    const mx = (v[1] - v[0]) * 0.06 || 1, my = (v[3] - v[2]) * 0.06 || 1;
    return [v[0] - mx, v[1] + mx, v[2] - my, v[3] + my];
  };
  const bounds = (pts) => pts.reduce((b, q) => [Math.min(b[0], q[0]), Math.max(b[1], q[0]), Math.min(b[2], q[1]), Math.max(b[3], q[1])], [Infinity, -Infinity, Infinity, -Infinity]);

  // spectrum draws the newest spectrum over usual ± 2σ, and below it the difference from the mean of usual.
  const spectrum = (host, s) => {
    const high = Math.min(520, Math.max(380, width(host) * 0.82)), u = s.usual, { words } = s;
    const p = panel(host, high, { left: 58, right: 14, top: 26, bottom: high * 0.44 });
    const at = u.at, a = s.spectrum ? s.spectrum.absorbance : null, x = (v) => p.x0 + ((v - at[0]) / (at[at.length - 1] - at[0])) * (p.x1 - p.x0);
    const lines = (q, lows, highs, line, mean, label, name) => {
      const shown = [...lows, ...highs, ...(line || [])], lo = Math.min(...shown), hi = Math.max(...shown), room = (hi - lo) * 0.08 || 1;
      const y = (v) => q.y0 - ((v - lo + room) / (hi - lo + 2 * room)) * (q.y0 - q.y1), t = ticks(lo - room, hi + room, 4, words);
      const along = (v) => v.map((w, i) => [x(at[i]), y(w)]);
      q.add("path", { class: "band", d: path([...along(highs), ...along(lows).reverse()], true) });
      q.add("path", { class: "usual", d: path(along(mean)) });
      if (line) q.add("path", { class: "now", d: path(along(line)) });
      yAxis(q, y, t.at, label + t.power);
      return y;
    };
    const two = u.sd.map((v) => 2 * v), when = s.spectrum ? say(words.newest, { time: s.clock(Date.parse(s.spectrum.time)) }) : "";
    const y = lines(p, u.mean.map((v, i) => v - two[i]), u.mean.map((v, i) => v + two[i]), a, u.mean, words.quantity);
    const below = Object.assign({}, p, { y1: p.y0 + 44, y0: high - 44, taken: [] });
    const yd = lines(below, two.map((v) => -v), two, a && a.map((v, i) => v - u.mean[i]), two.map(() => 0), words.difference);
    const free = (f, cls, text, q, yy) => {
      const spots = [];
      for (const part of [0.12, 0.3, 0.5, 0.7, 0.86]) {
        const i = Math.round(part * (at.length - 1)), v = f[i];
        spots.push([x(at[i]), yy(v) - 8, "middle"], [x(at[i]), yy(v) + 18, "middle"]);
      }
      for (const [px, py, anchor] of spots) {
        const wide = text.length * 7.2, near = (line) => line && at.some((w, i) => Math.abs(x(w) - px) < wide / 2 + 2 && yy(line[i]) > py - 14 && yy(line[i]) < py + 6);
        if (px - wide / 2 < q.x0 + 2 || px + wide / 2 > q.x1 || py - 12 < q.y1 || py + 3 > q.y0) continue;
        if (near(yy === y ? a : a && a.map((v, i) => v - u.mean[i])) || q.taken.some((b) => px - wide / 2 < b[2] && px + wide / 2 > b[0] && py - 12 < b[3] && py + 3 > b[1])) continue;
        q.taken.push([px - wide / 2, py - 12, px + wide / 2, py + 3]);
        p.text(px, py, text, anchor, cls + " halo");
        return;
      }
    };
    if (a) free(a, "hue", when, p, y);
    free(u.mean.map((v, i) => v + two[i]), "", words.band, p, y);
    free(two, "", words.band, below, yd);
    const t = ticks(at[0] < at[at.length - 1] ? at[0] : at[at.length - 1], Math.max(at[0], at[at.length - 1]), 6, words);
    xAxis(below, x, t.at, below.y0, u.unit);
    p.show();
  };

  return { distance, scores, spectrum, say };
})();
