"use strict";
// The list of all lines.
(() => {
  const { words, write, say } = stream;
  let lines = [];
  const take = (m) => {
    lines = m.lines;
    // A watch that was started anew may have other lines, which the list as it was made does not.
    const shown = [...document.querySelectorAll(".lines li")].map((e) => e.id);
    if (shown.join(" ") !== lines.map((l) => "line-" + l.id).join(" ")) location.reload();
  };
  const look = () => {
    for (const l of lines) {
      const e = document.getElementById("line-" + l.id);
      if (!e) continue;
      const newest = l.last_spectrum ? Date.parse(l.last_spectrum) : 0, still = Date.parse(l.still_since), old = newest && stream.now() - still > l.quiet_after_s * 1000;
      write(e.querySelector(".what"), l.headline);
      write(e.querySelector(".fit"), l.instrument_words);
      write(e.querySelector(".when"), !newest ? words.never : old ? say(words.quiet, { time: stream.when(still) })
        : say(words.last, { time: stream.when(newest, true) }) + " · " + say(words.ago, { lasts: stream.lasts(stream.now() - newest) }));
      e.querySelector(".when").classList.toggle("loud", Boolean(old));
      e.classList.toggle("then", Boolean(old) || stream.lost());
    }
    stream.notice(stream.trouble(0, 0));
  };
  stream.follow("/events", take, look);
})();
