// A sketch on squared paper: straight sides and square corners, by pointer or by keyboard.
const NS = "http://www.w3.org/2000/svg";
const COLUMNS = 24;
const ROWS = 16;
const CELL = 14;
const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function made(name, attributes) {
  const shape = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) shape.setAttribute(key, value);
  return shape;
}

export function openSketch(metric, use) {
  const board = document.getElementById("sketch");
  const said = document.getElementById("sketch-said");
  const square = document.getElementById("square");
  const sizes = metric ? [["0.5", "0.5 m"], ["0.25", "0.25 m"], ["1", "1 m"]] : [["1", "1 ft"], ["2", "2 ft"], ["0.5", "6 in"]];
  square.replaceChildren(...sizes.map(([value, words]) => new Option(words, value)));
  const svg = made("svg", { viewBox: `-8 -8 ${COLUMNS * CELL + 16} ${ROWS * CELL + 16}`, "aria-hidden": "true" });
  const grid = made("path", { class: "grid" });
  const area = made("polygon", { class: "area" });
  const path = made("polyline", { class: "path" });
  const dots = made("g", { class: "dots" });
  const cursor = made("circle", { class: "cursor", r: 5 });
  svg.append(grid, area, path, dots, cursor);
  board.append(svg);
  let strokes = "";
  for (let x = 0; x <= COLUMNS; x += 1) strokes += `M${x * CELL} 0V${ROWS * CELL}`;
  for (let y = 0; y <= ROWS; y += 1) strokes += `M0 ${y * CELL}H${COLUMNS * CELL}`;
  grid.setAttribute("d", strokes);
  let corners = [];
  let here = [4, 3];

  const length = (cells) => `${cells * Number(square.value)} ${metric ? "m" : "ft"}`;
  const span = (a, b) => Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]);

  function draw() {
    const points = corners.map(([x, y]) => `${x * CELL},${y * CELL}`).join(" ");
    path.setAttribute("points", points);
    area.setAttribute("points", corners.length > 2 ? points : "");
    dots.replaceChildren(...corners.map(([x, y]) => made("circle", { cx: x * CELL, cy: y * CELL, r: 3.5 })));
    cursor.setAttribute("cx", here[0] * CELL);
    cursor.setAttribute("cy", here[1] * CELL);
  }

  function put(x, y) {
    const last = corners[corners.length - 1];
    let next = [x, y];
    if (last) next = Math.abs(x - last[0]) >= Math.abs(y - last[1]) ? [x, last[1]] : [last[0], y];
    here = next;
    if (last && !span(last, next)) return;
    const before = corners[corners.length - 2];
    const way = (a, b) => [Math.sign(b[0] - a[0]), Math.sign(b[1] - a[1])].join();
    if (before && way(before, last) === way(last, next)) corners.pop();
    else if (before && way(before, last) === way(next, last)) {
      said.textContent = "A side cannot lead straight back over the one before it.";
      return;
    }
    corners.push(next);
    const start = corners[corners.length - 2];
    said.textContent = start ? `Corner ${corners.length}, ${length(span(start, next))} from the one before.` : "First corner set.";
    draw();
  }

  function finished() {
    if (corners.length < 3) {
      said.textContent = "Set three corners at least.";
      board.focus();
      return;
    }
    const way = signed(corners) > 0 ? corners : [...corners].reverse();
    use(way.slice(1).map((corner, i) => ({ length: length(span(way[i], corner)), turn: turn(way, i) })));
  }

  svg.addEventListener("pointerdown", (event) => {
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const cell = (value, most) => Math.min(most, Math.max(0, Math.round(value / CELL)));
    put(cell(place.x, COLUMNS), cell(place.y, ROWS));
    draw();
  });
  board.addEventListener("keydown", (event) => {
    const move = MOVES[event.key];
    if (move) {
      here = [Math.min(COLUMNS, Math.max(0, here[0] + move[0])), Math.min(ROWS, Math.max(0, here[1] + move[1]))];
      const last = corners[corners.length - 1];
      said.textContent = last ? `${length(span(last, here))} from the last corner.` : `${here[0]} across, ${here[1]} down.`;
    } else if (event.key === "Enter") put(...here);
    else if (event.key === "Backspace") {
      corners.pop();
      said.textContent = "Last corner taken away.";
    } else return;
    event.preventDefault();
    draw();
  });
  document.getElementById("sketch-use").addEventListener("click", finished);
  document.getElementById("sketch-clear").addEventListener("click", () => {
    corners = [];
    said.textContent = "The sketch is empty.";
    draw();
  });
  draw();
}

// Twice the area, positive where the deck lies on the left of the walk; down is positive here.
function signed(corners) {
  return corners.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = corners[(i + 1) % corners.length];
    return sum - (x * nextY - nextX * y);
  }, 0);
}

// The turn at the end of side i: left is plus.
function turn(corners, i) {
  if (i + 2 >= corners.length) return "90";
  const [a, b, c] = corners.slice(i, i + 3);
  return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < 0 ? "90" : "-90";
}
