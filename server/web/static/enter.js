/** The way in: a key that came in the address's fragment is typed and sent, and taken out of the address first. */

const key = decodeURIComponent(location.hash.slice(1));
if (key) {
  history.replaceState(null, "", location.pathname);
  document.getElementById("key").value = key;
  document.getElementById("enter").requestSubmit();
} else {
  document.getElementById("key").focus();
}
