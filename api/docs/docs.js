// Search: shows the operations that have every word that was typed.

const box = document.getElementById("query");
const found = document.getElementById("found");
const subjects = [...document.querySelectorAll(".subject")].map((section) => ({
  section,
  items: [...section.querySelectorAll("li")].map((item) => ({ item, text: `${section.querySelector("h3").textContent} ${item.textContent}`.toLowerCase() })),
}));

function search() {
  const words = box.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const { section, items } of subjects) {
    let here = 0;
    for (const { item, text } of items) {
      item.hidden = !words.every((word) => text.includes(word));
      if (!item.hidden) here++;
    }
    section.hidden = here === 0;
    count += here;
  }
  found.textContent = words.length === 0 ? "" : count === 0 ? "No operation has these words. Try fewer, or another." : count === 1 ? "1 operation" : `${count} operations`;
}

document.getElementById("search").hidden = false;
box.addEventListener("input", search);
search(); // the browser may have kept what was typed
