// What the page carries, and small things that all parts of the script need.
const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const words = data.words;
const many = data.id.length;
const status = [". ok", "! warn", "x FAIL"];
const tint = ["is-pass", "is-warn", "is-fail"];

// Every cell is made as text: a name from the data is never markup.
const make = (tag, text, kind) => {
  const element = document.createElement(tag);
  if (text !== undefined) element.textContent = text;
  if (kind) element.className = kind;
  return element;
};
const findings = (at) => {
  const list = [];
  for (let f = data.first[at]; f < data.first[at + 1]; f++) list.push(f);
  return list;
};
const message = (f) => words[data.what[f]] + " " + words[data.size[f]] + words[data.limit[f]];
const leading = (at) => {
  const list = findings(at);
  if (!list.length) return "";
  return message(list[0]) + (list.length > 1 ? " (+" + (list.length - 1) + ")" : "");
};
// A name as a shell takes it.
const shell = (name) => (/^[\w.\/=:,+@%-]+$/.test(name) ? name : "'" + name.replace(/'/g, "'\\''") + "'");
// The smallest of 1, 2, 5, 10, 20, ... that is not less.
const nice = (value) => {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 2, 5, 10].map((times) => times * power).find((step) => step >= value * 0.999);
};
