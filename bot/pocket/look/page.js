// Without this script everything works. With it, "back" goes back one screen
// where there is one, and a new screen is shown from its top.
(function () {
  var shown = 0;
  addEventListener("hashchange", function () { shown++; scrollTo(0, 0); });
  document.addEventListener("click", function (e) {
    var link = e.target.closest(".back");
    if (!link || link.getAttribute("href") !== "#ways" || shown === 0) return;
    e.preventDefault();
    history.back();
  });
  document.querySelectorAll(".back[href='#ways']").forEach(function (link) { link.textContent = "Back"; });
})();
