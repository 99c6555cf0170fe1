"use strict";
// The list of all lines.
(() => {
  const { words, write, say } = stream;
  let lines = [];
  const take = (m) => { lines = m.lines; };
  const look = () => {
    for (const l of lines) {
      const e = document.getElementById("line-" + l.id);
      if (!e) continue;
      const newest = l.last_spectrum ? Date.parse(l.last_spectrum) : 0, old = newest && stream.now() - newest > l.quiet_after_s * 1000;
      write(e.querySelector(".what"), l.headline);
      write(e.querySelector(".fit"), l.instrument_words);
      write(e.querySelector(".when"), !newest ? words.never : old ? say(words.quiet, { time: stream.when(newest) })
        : say(words.last, { time: stream.when(newest, true) }) + " · " + say(words.ago, { lasts: stream.lasts(stream.now() - newest) }));
      e.querySelector(".when").classList.toggle("loud", Boolean(old));
      e.classList.toggle("then", Boolean(old) || stream.lost());
    }
    const notice = document.getElementById("notice"), lost = stream.lost() ? stream.trouble(0, 0) : "";
    write(notice, lost);
    notice.hidden = lost === "";
  };
  stream.follow("/events", take, look);
})();
