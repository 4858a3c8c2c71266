"use strict";
// Keeps a page current. It changes the text of cells only, so that focus and
// reading position stay; the stream is closed while the page isn't seen.
(function () {
  var body = document.body, state = document.getElementById("state"), live = document.getElementById("live");
  var source = null, again = 0, rows = {};
  document.querySelectorAll("#meters > li").forEach(function (li) { rows[li.dataset.name] = li; });

  function say(text) { if (state.textContent !== text) state.textContent = text; }
  function put(cell, text) { if (cell && cell.textContent !== text) cell.textContent = text; }

  function change(row) {
    var li = rows[row.name];
    if (!li) return;
    var status = li.querySelector("[data-c=status]");
    put(status, row.sign + " " + row.status);
    if (status.className !== row.status) status.className = row.status;
    ["power", "lost", "summary"].forEach(function (c) { put(li.querySelector("[data-c=" + c + "]"), row[c]); });
  }

  function refresh() {
    if (live.contains(document.activeElement)) return;
    fetch(body.dataset.live).then(function (r) { if (!r.ok) throw r.status; return r.text(); })
      .then(function (html) { live.innerHTML = html; }).catch(function () { say("not current"); });
  }

  function open() {
    clearTimeout(again);
    if (source || document.hidden) return;
    source = new EventSource(body.dataset.events);
    source.addEventListener("now", function (e) {
      var now = JSON.parse(e.data);
      say("As of " + now.at);
      (now.rows || []).forEach(change);
      Object.keys(now.counts || {}).forEach(function (k) { put(document.querySelector("[data-count=" + k + "]"), String(now.counts[k])); });
      if (live && now.meter) refresh();
    });
    source.onerror = function () { // a refusal ends a source for good
      say("not current");
      close();
      again = setTimeout(open, 5000);
    };
  }
  function close() { if (source) source.close(); source = null; }

  document.addEventListener("visibilitychange", function () {
    if (document.hidden) { close(); say("not current"); } else open();
  });
  addEventListener("pagehide", close);
  addEventListener("pageshow", open);
  open();
})();
