/** The print key: only shown where a script can press it. */

const key = document.getElementById("print");
key.hidden = false;
key.addEventListener("click", () => window.print());
