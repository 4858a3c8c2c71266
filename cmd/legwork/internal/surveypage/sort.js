"use strict";
(function () {
  var list = document.getElementById("meters"), bar = document.getElementById("sorts");
  function value(li, by) {
    var v = li.getAttribute("data-" + by);
    return by === "lost" || by === "status" ? Number(v) : v;
  }
  bar.hidden = false;
  bar.addEventListener("click", function (e) {
    var by = e.target.getAttribute("data-by");
    if (!by) return;
    bar.querySelectorAll("button").forEach(function (b) { b.setAttribute("aria-pressed", String(b === e.target)); });
    var rows = Array.prototype.slice.call(list.children);
    rows.sort(function (a, b) {
      var x = value(a, by), y = value(b, by);
      return typeof x === "number" ? x - y : x.localeCompare(y, undefined, { numeric: true });
    });
    rows.forEach(function (li) { list.appendChild(li); });
  });
})();
