// What the API answers, shown: a price, a plan and findings, or what is wrong and where.
const at = (id) => document.getElementById(id);
const UNITS = { C62: "", MTR: "m", FOT: "ft", HUR: "h", MLT: "ml", KGM: "kg", LBR: "lb" };

// Ask the API; an answer that cannot be had is told like a problem.
export async function asked(path, key, body, once) {
  const headers = { Authorization: `Bearer ${key}`, "Content-Type": "application/json" };
  if (once) headers["Idempotency-Key"] = once;
  try {
    const answer = await fetch(path, { method: "POST", headers, body: JSON.stringify(body) });
    return { ok: answer.ok, body: await answer.json() };
  } catch {
    return { ok: false, body: { detail: "The service cannot be reached now; try again in a moment." } };
  }
}

// Put the API's words beside each field it means; give those that mean none.
export function mark(problem, fieldAt) {
  const left = [];
  for (const error of problem.errors ?? [{ pointer: "", detail: problem.detail, advice: problem.advice }]) {
    const words = [error.detail, error.advice].filter(Boolean).map(sentence).join(" ");
    const field = fieldAt(error.pointer);
    const place = field && field.closest(".field").querySelector(".error");
    if (!place) left.push(words);
    else if (place.hidden || !place.textContent.includes(words)) {
      place.textContent = place.hidden ? words : `${place.textContent} ${words}`;
      place.hidden = false;
      field.setAttribute("aria-invalid", "true");
    }
  }
  return left;
}

export function clearMarks(form, which) {
  for (const field of form.querySelectorAll("[aria-invalid]")) {
    if (!which(field)) continue;
    field.removeAttribute("aria-invalid");
    const place = field.closest(".field").querySelector(".error");
    place.hidden = true;
    place.textContent = "";
  }
}

// There is no price now, and this is why; the last plan stays, greyed.
export function stale(words) {
  say(words);
  at("price").classList.remove("known");
  at("plan").classList.add("old");
  for (const id of ["findings", "money", "limits"]) at(id).hidden = true;
  at("built").textContent = "";
  at("left-out").hidden = true;
}

export function show(told) {
  const { gross, net, tax } = told.totals;
  const taxed = Number(tax.amount) ? ` with ${money(tax)} of tax` : "";
  say(`${money(gross)}${taxed}`);
  at("price").classList.add("known");
  const { length, posts, sections, stairs } = told.railing;
  const built = `${length.text} of railing, ${many(posts, "post")}, ${many(sections, "section")}`;
  at("built").textContent = `${told.system}: ${built}${stairs ? `, ${many(stairs, "stair")}` : ""}.`;
  drawing(told.drawing, built);
  findings(told.findings);
  const lines = told.lines.map((line) => row([item(line), amount(line), money(line.net)], "td"));
  at("lines").replaceChildren(...lines);
  const sums = [["Net", net], ...told.totals.taxes.map((one) => [one.name, one.amount]), ["Total", gross]];
  at("sums").replaceChildren(...sums.map(([words, sum]) => row([words, "", money(sum)], "th")));
  listed("left-out", told.conditions);
  at("left-out").hidden = !told.conditions.length;
  listed("cautions", [...told.notes, ...told.cautions]);
  for (const id of ["findings", "money", "limits"]) at(id).hidden = false;
}

// Only what changed is written, so that a reader does not say the same again.
function say(words) {
  if (at("price").textContent !== words) at("price").textContent = words;
}

function drawing(svg, words) {
  at("drawing").src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
  at("drawing").alt = `Plan of the deck: ${words}.`;
  at("plan").hidden = false;
  at("plan").classList.remove("old");
}

function findings(told) {
  at("summary").textContent = told.summary;
  at("not-met").replaceChildren(...told.not_met.map((one) => clause(one, true)));
  at("not-judged").replaceChildren(...told.not_judged.map((one) => clause(one, false)));
  at("open-points").hidden = !told.not_judged.length;
}

function clause(told, broken) {
  const item = document.createElement("li");
  const words = document.createElement("span");
  words.textContent = broken ? `Not met: ${told.text} Found: ${told.places.join("; ")}.` : `${told.text} ${told.why}`;
  const section = document.createElement("span");
  section.className = "section";
  section.textContent = ` ${told.section}`;
  item.append(words, section);
  return item;
}

function listed(id, all) {
  at(id).replaceChildren(...all.map((words) => {
    const item = document.createElement("li");
    item.textContent = words;
    return item;
  }));
}

function row(cells, kind) {
  const line = document.createElement("tr");
  cells.forEach((words, place) => {
    const cell = document.createElement(place ? "td" : kind);
    if (place) cell.className = "figure";
    else if (kind === "th") cell.scope = "row";
    cell.textContent = words;
    line.append(cell);
  });
  return line;
}

const item = (line) => (line.length ? `${line.description}, ${line.length.text}` : line.description);
const amount = (line) => `${line.quantity} ${UNITS[line.unit_of_measure] ?? line.unit_of_measure}`.trim();
const many = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
const sentence = (words) => (/[.!?]$/.test(words) ? words : `${words}.`);

// The amount is text and stays exact: its digits are never made a number.
function money({ amount: sum, currency }) {
  const [units, cents] = sum.split(".");
  const grouped = units.replace(/\B(?=(\d{3})+$)/g, ",");
  return `${currency} ${grouped}${cents ? `.${cents}` : ""}`;
}
