/** The beam rows of the form: unused ones step back until asked for. Without this script all four show. */

const rows = [...document.querySelectorAll("fieldset.beam")];
const add = document.getElementById("add-beam");
const texts = (row) => [...row.querySelectorAll("input:not([type=radio])")];
const used = (row) => texts(row).some((input) => input.value.trim() !== "") || row.querySelector(".fault");

function settle() {
  add.hidden = rows.every((row) => !row.hidden);
}

function takeOut(row) {
  for (const input of texts(row)) input.value = "";
  row.hidden = true;
  settle();
  add.focus();
}

function bring() {
  const row = rows.find((each) => each.hidden);
  row.hidden = false;
  settle();
  texts(row)[0].focus();
}

for (const row of rows.slice(1)) {
  row.hidden = !used(row);
  const out = row.querySelector(".out");
  out.hidden = false;
  out.addEventListener("click", () => takeOut(row));
}
add.addEventListener("click", bring);
settle();
document.getElementById("all-faults")?.focus();
