// The form: its rows, the request they make, and when it is sent.
import { asked, clearMarks, mark, show, stale } from "/form/assets/answers.js";
import { openSketch } from "/form/assets/sketch.js";

const page = document.getElementById("page");
const metric = page.dataset.units === "metric";
const form = document.getElementById("form");
const sides = document.getElementById("sides");
const stairs = document.getElementById("stairs");
const gates = document.getElementById("gates");
const closing = document.getElementById("closing");
const drop = document.getElementById("drop");
const closingFall = document.getElementById("closing-fall");
const KINDS = [["open", "railing"], ["wall", "a wall"], ["bare", "no railing"]];
const MOST_SIDES = 40;
const MOST_STAIRS = 4;
const MOST_GATES = 4;
const LEVEL = "#/deck/levels/0";
const PAUSE = 450; // until a change is asked about [ms]
let made = 0;
let waiting = 0;
let latest = 0;
let sending = { body: "", key: "" };

function fill(select, options, chosen) {
  select.replaceChildren(...options.map(([value, words]) => new Option(words, value)));
  if (options.some(([value]) => value === chosen)) select.value = chosen;
}

function label(row) {
  for (const field of row.querySelectorAll(".field")) {
    const control = field.querySelector("input, select");
    control.id = `c${made += 1}`;
    field.querySelector("label").htmlFor = control.id;
    const told = [...field.querySelectorAll(".hint, .error")];
    told.forEach((one, index) => { one.id = `${control.id}-${index}`; });
    control.setAttribute("aria-describedby", told.map((one) => one.id).join(" "));
  }
}

function fresh(template) {
  return document.getElementById(template).content.firstElementChild.cloneNode(true);
}

function addSide({ length = "", turn = "90", kind = "open" } = {}) {
  const row = fresh("side-row");
  label(row);
  fill(row.querySelector(".kind"), KINDS, kind);
  row.querySelector(".length").value = length;
  row.querySelector(".turn").value = turn;
  row.querySelector(".remove").addEventListener("click", () => remove(row, sides, "add-side"));
  sides.append(row);
  number();
  return row;
}

function addStair() {
  const row = fresh("stair-row");
  label(row);
  row.querySelector(".width").value = metric ? "1000 mm" : "4 ft";
  row.querySelector(".unit-run").value = metric ? "280 mm" : "10 in";
  row.querySelector(".nosing").value = metric ? "25 mm" : "1 in";
  row.querySelector(".remove").addEventListener("click", () => remove(row, stairs, "add-stair"));
  stairs.append(row);
  number();
  leave(row);
  return row;
}

function addGate() {
  const row = fresh("gate-row");
  label(row);
  row.querySelector(".width").value = metric ? "900 mm" : "3 ft";
  row.querySelector(".remove").addEventListener("click", () => remove(row, gates, "add-gate"));
  gates.append(row);
  number();
  leave(row);
  return row;
}

// Let a stair or a gate stand in a side that has a railing.
function leave(row) {
  const open = [...sides.children].map((side) => side.querySelector(".kind").value);
  row.querySelector(".from").value = String(Math.max(0, open.indexOf("open", open.length > 2 ? 1 : 0)));
}

function remove(row, list, next) {
  const place = [...list.children].indexOf(row);
  row.remove();
  number();
  const other = list.children[Math.min(place, list.children.length - 1)];
  (other ? other.querySelector("input, select") : document.getElementById(next)).focus();
  later();
}

// Names and pointers follow the places of the rows.
function number() {
  const rows = [...sides.children];
  rows.forEach((row, i) => {
    row.querySelector("legend").textContent = `Side ${i + 1}`;
    row.querySelector(".remove").setAttribute("aria-label", `Remove side ${i + 1}`);
    row.querySelector(".remove").hidden = rows.length <= 2;
    row.querySelector(".turning").hidden = i === rows.length - 1;
    const taped = `${LEVEL}/outline/sides/${i}`;
    turning(row);
    row.querySelector(".length").dataset.pointer = `${taped}/length`;
    for (const one of row.querySelectorAll(".turn, .degrees")) one.dataset.turn = `${taped}/turn`;
    row.querySelector(".kind").dataset.pointer = `${LEVEL}/edges/${i}`;
    row.querySelector(".own").hidden = text(row, ".kind") === "wall";
  });
  closing.dataset.pointer = `${LEVEL}/edges/${rows.length}`;
  document.getElementById("closing-drop").hidden = closing.value === "wall";
  const where = [...rows.keys(), rows.length].map((i) => [
    String(i), i === rows.length ? "the side back to the start" : `side ${i + 1}`,
  ]);
  [...stairs.children].forEach((row, i) => {
    row.querySelector("legend").textContent = `Stair ${i + 1}`;
    row.querySelector(".remove").setAttribute("aria-label", `Remove stair ${i + 1}`);
    fill(row.querySelector(".from"), where, row.querySelector(".from").value);
    const at = `#/deck/stairs/${i}`;
    const names = { ".width": "width", ".risers": "risers", ".unit-run": "unit_run", ".nosing": "nosing",
      ".rise": "total_rise", ".open-sides": "open_sides", ".bottom": "bottom" };
    for (const [field, name] of Object.entries(names)) {
      row.querySelector(field).dataset.pointer = `${at}/${name}`;
    }
    row.querySelector(".from").dataset.pointer = at;
  });
  [...gates.children].forEach((row, i) => {
    row.querySelector("legend").textContent = `Gate ${i + 1}`;
    row.querySelector(".remove").setAttribute("aria-label", `Remove gate ${i + 1}`);
    fill(row.querySelector(".from"), where, row.querySelector(".from").value);
  });
  document.getElementById("add-side").disabled = rows.length >= MOST_SIDES;
  document.getElementById("add-stair").disabled = stairs.children.length >= MOST_STAIRS;
  document.getElementById("add-gate").disabled = gates.children.length >= MOST_GATES;
}

// The angle of a turn is the choice, or the field beside it.
function turning(row) {
  const [turn, degrees] = row.querySelectorAll(".turn, .degrees");
  const other = turn.value === "other" && row !== sides.lastElementChild;
  row.querySelector(".angled").hidden = !other;
  turn.dataset.pointer = other ? "" : turn.dataset.turn;
  degrees.dataset.pointer = other ? degrees.dataset.turn : "";
}

function text(row, field) {
  return row.querySelector(field).value.trim();
}

const whole = (words) => (/^-?\d+$/.test(words) ? Number(words) : words);
const figure = (words) => (/^-?\d+(\.\d+)?$/.test(words) ? Number(words) : words);

function turnOf(row) {
  if (row === sides.lastElementChild) return 0;
  const turn = text(row, ".turn");
  return figure(turn === "other" ? text(row, ".degrees") : turn);
}

const falls = () => [...sides.querySelectorAll(".fall"), closingFall];

// Where a side's drop is written: beside it, or for the whole deck.
const fallField = (i) => (falls()[i]?.value.trim() ? falls()[i] : drop);

function edge(kind, i) {
  if (kind === "wall") return { kind: "wall" };
  return { kind: "open", fall_height: fallField(i).value.trim(), guard: kind === "open" };
}

// Put an opening into the edge that a row names, and point the row's fields to it.
function open(row, edges, opening, fields) {
  const on = Number(text(row, ".from"));
  if (text(row, ".offset")) opening.offset = text(row, ".offset");
  const held = (edges[on].openings ??= []);
  const at = `${LEVEL}/edges/${on}/openings/${held.length}`;
  for (const [field, member] of Object.entries(fields)) row.querySelector(field).dataset.pointer = at + member;
  held.push(opening);
  return on;
}

// The deck as the API takes it; stairs are named in order.
function deck() {
  const rows = [...sides.children];
  const edges = [...rows.map((row, i) => edge(text(row, ".kind"), i)), edge(closing.value, rows.length)];
  const flights = [...stairs.children].map((row, i) => {
    const name = `stair ${i + 1}`;
    const on = open(row, edges, { kind: "stair", stair: name }, { ".offset": "" });
    return {
      name, total_rise: text(row, ".rise") || fallField(on).value.trim(), risers: whole(text(row, ".risers")),
      unit_run: text(row, ".unit-run"), nosing: text(row, ".nosing"), width: text(row, ".width"),
      open_sides: text(row, ".open-sides").split(" "), bottom: text(row, ".bottom"),
    };
  });
  [...gates.children].forEach((row, i) => {
    const gate = { name: `gate ${i + 1}`, width: text(row, ".width") };
    open(row, edges, { kind: "gate", gate, swing: text(row, ".swing"), hinge: text(row, ".hinge") },
      { ".from": "", ".offset": "/offset", ".width": "/gate", ".swing": "/swing", ".hinge": "/hinge" });
  });
  const taped = rows.map((row) => ({ length: text(row, ".length"), turn: turnOf(row) }));
  const level = { name: "deck", outline: { sides: taped, closing_side: true }, edges };
  return { levels: [level], stairs: flights };
}

// Stairs and gates that stand in a wall; the API would speak of members a visitor never saw.
function misplaced() {
  const walls = [...sides.children].map((row) => text(row, ".kind") === "wall").concat(closing.value === "wall");
  const wrong = [...stairs.children, ...gates.children].filter((row) => walls[Number(text(row, ".from"))]);
  return { errors: wrong.map((row) => ({ pointer: row.querySelector(".from").id, detail: "There is a wall along this side: choose another one." })) };
}

// A field by its pointer; one drop stands for the fall of every edge that has none of its own.
function fieldAt(pointer) {
  const steps = pointer.split("/");
  if (/\/fall_height$/.test(pointer)) return fallField(Number(steps[5]));
  if (/\/total_rise$/.test(pointer)) {
    const row = stairs.children[Number(steps[3])];
    return row && !text(row, ".rise") ? fallField(Number(text(row, ".from"))) : row?.querySelector(".rise");
  }
  const fields = [...form.querySelectorAll("[data-pointer]")].filter((one) => !one.closest("[hidden]"));
  const fits = (one) => pointer === one.dataset.pointer || pointer.startsWith(`${one.dataset.pointer}/`);
  const found = fields.filter((one) => one.dataset.pointer && fits(one));
  return found.sort((a, b) => b.dataset.pointer.length - a.dataset.pointer.length)[0];
}

const needed = () => [...form.querySelectorAll("#sides .length, #stairs [required], #gates [required], #drop")];

function later() {
  window.clearTimeout(waiting);
  waiting = window.setTimeout(estimate, PAUSE);
}

// Mark what stands where it cannot; tell whether anything does.
function mistaken() {
  const wrong = misplaced();
  if (!wrong.errors.length) return false;
  clearMarks(form, (one) => !one.dataset.pointer?.startsWith("#/contact"));
  mark(wrong, (id) => document.getElementById(id));
  stale("No price yet: see what is marked.");
  return true;
}

// While fields are empty, only what is written already is held against the API.
async function sofar(turn) {
  const written = needed().some((one) => one.value.trim());
  const answer = written ? await asked("/v1/estimates", page.dataset.key, { deck: deck() }) : { body: {} };
  if (turn !== latest) return;
  clearMarks(form, (one) => !one.dataset.pointer?.startsWith("#/contact"));
  const meant = ({ pointer }) => {
    const field = fieldAt(pointer);
    return field?.matches("input") && field.value.trim() && !pointer.startsWith(`${field.dataset.pointer}/`);
  };
  mark({ errors: (answer.body.errors ?? []).filter(meant) }, fieldAt);
}

async function estimate() {
  window.clearTimeout(waiting);
  const turn = (latest += 1);
  const empty = needed().filter((one) => !one.value.trim()).length;
  if (empty) {
    stale(empty === 1 ? "One field more and you see a price." : `${empty} fields more and you see a price.`);
    await sofar(turn);
    return;
  }
  if (mistaken()) return;
  const answer = await asked("/v1/estimates", page.dataset.key, { deck: deck() });
  if (turn !== latest) return;
  clearMarks(form, (one) => !one.dataset.pointer?.startsWith("#/contact"));
  if (answer.ok) {
    show(answer.body);
    return;
  }
  const left = mark(answer.body, fieldAt);
  stale(left.length ? left.join(" ") : "No price yet: see what is marked.");
}

function keyFor(body) {
  if (sending.body !== body) {
    const bytes = window.crypto.getRandomValues(new Uint8Array(16));
    sending = { body, key: [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("") };
  }
  return sending.key;
}

async function send(event) {
  event.preventDefault();
  const button = document.getElementById("send");
  if (button.getAttribute("aria-disabled") === "true") return;
  if (mistaken()) {
    refused([]);
    return;
  }
  button.setAttribute("aria-disabled", "true");
  const contact = {};
  for (const name of ["name", "email", "phone"]) {
    const said = document.getElementById(name).value.trim();
    if (said) contact[name] = said;
  }
  const body = { deck: deck(), contact };
  const answer = await asked("/v1/inquiries", page.dataset.key, body, keyFor(JSON.stringify(body)));
  button.removeAttribute("aria-disabled");
  clearMarks(form, () => true);
  if (answer.ok) thank(answer.body);
  else refused(mark(answer.body, fieldAt));
}

function thank(told) {
  document.getElementById("reference").textContent = told.reference;
  document.getElementById("sent").hidden = false;
  form.before(document.getElementById("sent"));
  form.classList.add("done");
  for (const part of form.querySelectorAll(".part:not(.result)")) part.hidden = true;
  document.getElementById("trouble").hidden = true;
  document.getElementById("sent-title").focus();
}

// A list of what is wrong, at the top, with a way to each field.
function refused(left) {
  const marked = [...form.querySelectorAll("[aria-invalid]")];
  const list = document.getElementById("trouble-list");
  list.replaceChildren(...marked.map((field) => {
    const link = document.createElement("a");
    const group = field.closest("fieldset")?.querySelector("legend").textContent;
    const named = field.labels[0].textContent;
    link.href = `#${field.id}`;
    link.textContent = group ? `${group}: ${named}` : named;
    link.addEventListener("click", (event) => { event.preventDefault(); field.focus(); });
    const item = document.createElement("li");
    item.append(link);
    return item;
  }), ...left.map((words) => {
    const item = document.createElement("li");
    item.textContent = words;
    return item;
  }));
  const places = list.children.length;
  document.getElementById("trouble-title").textContent =
    places === 1 ? "One place needs another look." : `${places} places need another look.`;
  const box = document.getElementById("trouble");
  box.hidden = false;
  box.focus();
}

function sketched(drawn) {
  sides.replaceChildren();
  for (const side of drawn) addSide(side);
  document.getElementById("sketching").open = false;
  sides.querySelector(".length").focus();
  later();
}

fill(closing, [["wall", "house wall"], ["open", "railing"], ["bare", "no railing"]]);
for (let i = 0; i < 3; i += 1) addSide();
openSketch(metric, sketched);
document.getElementById("add-side").addEventListener("click", () => {
  addSide().querySelector(".length").focus();
  later();
});
document.getElementById("add-stair").addEventListener("click", () => {
  addStair().querySelector("select").focus();
  later();
});
document.getElementById("add-gate").addEventListener("click", () => {
  addGate().querySelector("select").focus();
  later();
});
// Paper cannot be opened: what is folded away is printed, and folded away again.
let folded = [];
window.addEventListener("beforeprint", () => {
  folded = [...form.querySelectorAll("details:not(#sketching):not([open])")];
  for (const one of folded) one.open = true;
});
window.addEventListener("afterprint", () => {
  for (const one of folded) one.open = false;
});
document.getElementById("print").addEventListener("click", () => window.print());
form.addEventListener("input", (event) => {
  const row = event.target.closest(".row");
  if (event.target.matches(".turn")) turning(row);
  if (event.target.matches(".kind, #closing")) number();
  if (!event.target.closest("#sketching") && !event.target.dataset.pointer?.startsWith("#/contact")) later();
});
form.addEventListener("submit", send);
