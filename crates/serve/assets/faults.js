// Fault-finding works by links alone; this finds parts by a few letters and keeps the stop.

import { follow } from "./follow.js";

const find = document.getElementById("find");
const parts = [...document.querySelectorAll(".part")].map((part) => [part, part.textContent.toLowerCase()]);
find.addEventListener("input", () => {
  const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const [part, text] of parts) part.hidden = !words.every((word) => text.includes(word));
});

follow(() => {});
