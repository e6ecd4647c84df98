// Draws the charts of a season's page from its tables: every number and every word in them
// is one of the page's own. Colours, dashes and type are those of the style sheet.
import {areaY} from "plot/marks/area.js";
import {axisX, axisY, gridY} from "plot/marks/axis.js";
import {dot} from "plot/marks/dot.js";
import {line} from "plot/marks/line.js";
import {ruleX, ruleY} from "plot/marks/rule.js";
import {text} from "plot/marks/text.js";
import {plot} from "plot/plot.js";

const page = document.querySelector("main.season");
const day = (iso) => new Date(iso + "T00:00:00Z");
const after = (date, n) => new Date(+date + n * 864e5);
const times = (cell) => [...cell.querySelectorAll("time")].map((t) => day(t.dateTime));
const number = (cell) => parseFloat(cell.textContent.replace("\u2212", "-").replace(",", "."));
const words = (cell) => cell.firstChild.textContent.trim();
const month = new Intl.DateTimeFormat(document.documentElement.lang, {month: "short", timeZone: "UTC"});

const first = day(page.dataset.first), end = after(day(page.dataset.last), 1), today = day(page.dataset.today), freezing = +page.dataset.freezing;

// rows reads a table whose columns have keys; on is a day, all else numbers, NaN where a cell is empty.
function rows(name) {
  const table = document.querySelector(`table[data-table="${name}"]`);
  if (!table) return {rows: [], labels: {}};
  const heads = [...table.tHead.rows[0].cells], labels = {};
  for (const h of heads) labels[h.dataset.key] = h.dataset.label;
  return {
    labels, label: table.dataset.label,
    rows: [...table.tBodies[0].rows].map((r) => {
      const out = {told: r.querySelector(".ahead") !== null};
      heads.forEach((h, i) => { out[h.dataset.key] = h.dataset.key === "on" ? times(r.cells[i])[0] : number(r.cells[i]); });
      return out;
    }),
  };
}

const known = (key) => (d) => !isNaN(d[key]);

// months are the axis of days, with a rule at each month and its name where there is room.
function months(from, to, width, options = {}) {
  const ticks = [];
  for (let d = new Date(Date.UTC(from.getUTCFullYear(), from.getUTCMonth(), 1)); d < to; d = new Date(Date.UTC(d.getUTCFullYear(), d.getUTCMonth() + 1, 1))) {
    if (d >= from) ticks.push(d);
  }
  const every = Math.ceil(30 / (width / ticks.length));
  const named = ticks.filter((d, i) => i % every === 0 && to - d > 12 * 864e5);
  return [
    ruleX(ticks, {className: "month"}),
    axisX(named, {label: null, tickFormat: (d) => month.format(d), tickSize: 0, textAnchor: "start", dx: 2, ...options}),
  ];
}

function now(from, to) {
  if (today < from || today >= to) return [];
  const late = today - from > 0.8 * (to - from);
  return [
    ruleX([today], {className: "today"}),
    text([today], {x: (d) => d, text: () => page.dataset.todayLabel, frameAnchor: "top", dy: -9, textAnchor: late ? "end" : "start", className: "label"}),
  ];
}

const season = {type: "utc", domain: [first, end]};
const degrees = (v) => `${v}°`.replace("-", "\u2212");

// temperature draws the days or the nights: what is usual, and over it what was measured and is foretold.
function temperature(name, width) {
  const t = rows(name);
  const told = t.rows.filter((r) => r.told && known("this")(r));
  const measured = t.rows.map((r) => ({on: r.on, this: r.told ? NaN : r.this}));
  const last = measured.findLast(known("this"));
  if (last && told.length && told[0].on - last.on < 2 * 864e5) told.unshift(last); // so that one goes on from the other
  const low = Math.min(...t.rows.map((r) => Math.min(r.p10, isNaN(r.this) ? r.p10 : r.this)));
  const share = today - first > 0.7 * (end - first) ? 0.55 : 0.85; // out of the way of today
  const label = t.rows.find((r) => r.on - first >= share * (end - first));
  return {
    x: season, y: {nice: true},
    marks: [
      gridY({className: "grid", ticks: 6}), axisY({label: null, tickFormat: degrees, tickSize: 0, ticks: 6}), months(first, end, width),
      areaY(t.rows, {x: "on", y1: "p10", y2: "p90", className: `band ${name}`}),
      low < freezing ? ruleY([freezing], {className: "zero"}) : [],
      line(t.rows, {x: "on", y: "p50", className: `middle ${name}`}),
      line(measured, {x: "on", y: "this", className: `this ${name}`}),
      line(told, {x: "on", y: "this", className: `ahead ${name}`}),
      text([label], {x: "on", y: "p90", dy: -10, text: () => t.label, className: `label ${name}`}),
      now(first, end),
    ],
  };
}

// sum draws sums over the days: of all of them, or up to two months from this year's last.
function sum(name, width) {
  const t = rows(name), from = t.rows[0].on, mine = t.rows.filter(known("this")), last = mine.at(-1);
  let shown = t.rows;
  if (last) {
    const far = Math.max(+after(last.on, 62), +after(from, 120));
    shown = shown.filter((r) => r.on <= far);
  }
  const to = after(shown.at(-1).on, 1), most = Math.max(...shown.map((r) => Math.max(r.p90, r.this || 0)));
  const label = shown.at(-1);
  const marks = [
    gridY({className: "grid", ticks: 5}), axisY({label: null, tickSize: 0, ticks: 5}), months(from, to, width),
    areaY(shown, {x: "on", y1: "p10", y2: "p90", className: "band sum"}),
    line(shown, {x: "on", y: "p50", className: "middle sum"}),
    line(mine, {x: "on", y: "this", className: "this sum"}),
    text([label], {x: "on", y: "p90", dy: -9, textAnchor: "end", text: () => t.labels.p90, className: "label"}),
    now(from, to),
  ];
  if (last) {
    const early = last.on - from < 0.25 * (to - from);
    marks.push(
      dot([last], {x: "on", y: "this", r: 4.5, className: "this sum"}),
      text([last], {x: "on", y: "this", dx: early ? 8 : -8, dy: -10, textAnchor: early ? "start" : "end", text: () => t.labels.this, className: "label strong"}),
    );
  }
  return {x: {type: "utc", domain: [from, to]}, y: {domain: [0, most * 1.1 || 1]}, marks};
}

// cold draws the chance of frost in the nights ahead, and above it when frost ends and begins.
function cold(width) {
  const t = rows("cold"), from = t.rows[0].on, to = after(t.rows.at(-1).on, 1);
  const marks = [
    gridY([0, 25, 50, 75, 100], {className: "grid"}), axisY([0, 25, 50, 75, 100], {label: null, tickFormat: (v) => `${v} %`, tickSize: 0}), months(from, to, width),
    areaY(t.rows, {x: "on", y1: 0, y2: "at", className: "band frost"}),
    line(t.rows, {x: "on", y: "at", className: "line frost"}),
    line(t.rows, {x: "on", y: "below", className: "line hard"}),
    dot(t.rows.filter(known("told")), {x: "on", y: "at", r: 3.5, className: "told"}),
  ];
  // The days of the last and the first frost, above: 8 of 10 cases, and the middle.
  document.querySelectorAll("tr.frost").forEach((row) => {
    const [p10, p50, p90] = times(row), level = row.dataset.level === "0" ? 0 : 1;
    if (!p90 || p90 < from || p10 >= to) return;
    const y = 120 - 11 * level, mark = level ? "hard" : "frost";
    marks.push(
      ruleY([y], {x1: p10 < from ? from : p10, x2: p90 > to ? to : p90, className: `days ${mark}`}),
      dot([p50], {x: (d) => d, y, r: 4, symbol: "diamond", className: `days ${mark}`}),
    );
    if (!level) marks.push(text([p50], {x: (d) => d, y: y + 5, dy: -6, text: () => row.dataset.label, className: "label"}));
  });
  return {x: {type: "utc", domain: [from, to]}, y: {domain: [0, 128]}, marks};
}

// tree draws the signs and windows of a tree, a row each, named above their days.
function tree(width, box) {
  const article = box.closest("article"), marks = [];
  const clip = (d) => d < first ? first : d > end ? end : d;
  let y = 0;
  const span = (from, to, name, at = y) => marks.push(ruleY([at], {x1: clip(from), x2: clip(to), className: name}));
  const named = (head, near) => {
    let label = [words(head), head.querySelector(".sure")?.textContent].filter(Boolean).join(" \u00b7 ");
    const most = Math.floor(width / 6.6);
    if (label.length > most) label = label.slice(0, most - 1) + "\u2026";
    const x = (clip(near) - first) / (end - first) * width, fits = x + 6.6 * label.length < width;
    marks.push(text([label], {x: fits ? clip(near) : end, y, dy: -13, dx: fits ? -2 : 0, textAnchor: fits ? "start" : "end", text: (d) => d, className: "label row"}));
  };
  // A cell of a 50 % day and, where they differ, the 10 and 90 % days.
  const put = (cell, name, at) => {
    const [p50, p10 = p50, p90 = p50] = times(cell);
    if (!p50) return [];
    span(p10, p90, name, at);
    if (p50 >= first && p50 < end) marks.push(ruleX([p50], {y1: at - 0.14, y2: at + 0.14, className: `${name} tick`}));
    return [p10];
  };
  article.querySelectorAll(`[data-table="signs"] tbody tr`).forEach(({cells: [head, before, today, seen]}) => {
    const both = times(before).length && times(today).length, [on] = times(seen);
    const starts = [...put(before, "before", both ? y - 0.1 : y), ...put(today, "now", both ? y + 0.16 : y), ...(on ? [on] : [])];
    if (on) marks.push(dot([on], {x: (d) => d, y, r: 5, className: "seen"}));
    named(head, new Date(Math.min(...starts)));
    y++;
  });
  article.querySelectorAll(`[data-table="windows"] tbody tr`).forEach((row) => {
    const [head, opens, likely, closes] = row.cells, waits = row.classList.contains("waits") ? " waits" : "";
    const [o50, o10 = o50] = times(opens), [c50, , c90 = c50] = times(closes), [best] = times(likely);
    span(o10, after(c90, 1), "span" + waits);
    span(o50, after(c50, 1), "window" + waits);
    if (best >= first && best < end) marks.push(dot([best], {x: (d) => d, y, r: 5, symbol: "diamond", className: "likely" + waits}));
    if (row.dataset.done) marks.push(dot([day(row.dataset.done)], {x: (d) => d, y, r: 5, className: "seen"}));
    named(head, o10);
    y++;
  });
  return {
    x: season, y: {axis: null, domain: [y - 0.6, -0.75]}, marginLeft: 4, marginTop: 26,
    marks: [months(first, end, width), months(first, end, width, {anchor: "top"})[1], ruleX([today].filter((d) => d < end), {className: "today"}), ...marks],
  };
}

const draw = {
  days: (w) => temperature("days", w), nights: (w) => temperature("nights", w), cold, tree,
  warmth: (w) => sum("warmth", w), chill: (w) => sum("chill", w),
};

// show draws into a box as wide as that is, and as high as was kept free for it. Plot brings its own
// rules along in an element that the policy of the page does not allow; ours stand in the style sheet.
function show(box) {
  const width = box.clientWidth, height = +box.firstElementChild.getAttribute("height");
  const svg = plot({width, height, marginLeft: 38, marginRight: 6, marginTop: 18, marginBottom: 22, className: "plot", ...draw[box.dataset.chart](width - 44, box)});
  svg.querySelector("style").remove();
  svg.setAttribute("aria-hidden", "true");
  box.replaceChildren(svg);
  box.drawn = width;
}

const watch = new ResizeObserver((all) => all.forEach(({target}) => { if (target.clientWidth && target.clientWidth !== target.drawn) show(target); }));
document.querySelectorAll(".chart").forEach((box) => { show(box); watch.observe(box); });
