// The table of every reading, made from the data that the page encloses: sorted by any column,
// leafed through where it is long, kept as CSV. Words come from the page.
"use strict";
(() => {
  const enclosed = document.getElementById("enclosed");
  const section = document.getElementById("readings");
  const told = document.getElementById("readings-said");
  if (!enclosed || !told) return;

  const said = JSON.parse(told.textContent);
  const data = JSON.parse(enclosed.textContent);
  const sources = data.rig ? [...data.sources, data.rig] : data.sources;
  const readings = sources.flatMap((source, of) =>
    source.rows.value_mm.map((_, at) => ({ of, at, rows: source.rows, group: source.groups[source.rows.group[at]] })));
  readings.forEach((one, at) => { one.place = at + 1; });

  const doubted = sources.map(({ account }) => new Set( // those since the last good check of a tie that moved
    (account?.events ?? []).filter(({ kind, data }) => kind === said.doubts && data.moved)
      .flatMap(({ data }) => data.doubted.map(String))));
  const isDoubted = (one) => doubted[one.of].has(
    String([one.group.block, one.group.round, one.rows.trial[one.at], one.rows.attempt[one.at]]));

  const takenAtMs = sources.map(({ rows }) => { // written as what passed since the reading before
    let ms = 0;
    return rows.taken_after_ms?.map((after) => (ms += after));
  });

  // ------------------------------------------------------------------ what stands in a cell
  const held = {
    place: (one) => one.place,
    of: (one) => sources[one.of].material.name,
    workshop: (one) => one.group.workshop,
    round: (one) => one.group.round,
    block: (one) => one.group.block,
    method: (one) => one.group.method,
    operator: (one) => one.group.operator,
    point: (one) => one.group.point,
    trial: (one) => one.rows.trial[one.at],
    attempt: (one) => one.rows.attempt[one.at],
    value: (one) => one.rows.value_mm[one.at],
    said: (one) => [
      ...(one.rows.is_zero[one.at] ? [said.zero] : []),
      ...(isDoubted(one) ? [said.doubted] : []),
      ...(one.rows.void[one.at] < 0 ? [] : [said.void + sources[one.of].voids[one.rows.void[one.at]]]),
    ].join(", "),
    taken: (one) => takenAtMs[one.of]?.[one.at] ?? null,
    nozzle: (one) => one.rows.nozzle_c?.[one.at] ?? null,
    bed: (one) => one.rows.bed_c?.[one.at] ?? null,
  };
  const instant = (ms) => new Date(ms).toISOString().slice(0, 19).replace("T", " ");
  const degrees = (celsius) => celsius.toFixed(1);
  const signed = (mm, decimals) => {
    const text = Math.abs(mm).toFixed(decimals);
    if (!Number(text)) return text;
    return (mm < 0 ? "\u2212" : "+") + text;
  };
  const shown = {
    value: (mm, one) => signed(mm, said.decimals[one.of]),
    taken: instant, nozzle: degrees, bed: degrees,
  };
  // Controls, and what turns the direction of all that follows.
  const neverShown = /[\u0000-\u0008\u000b\u000e-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g;
  const read = (key, one) => {
    const value = held[key](one);
    if (value === null) return "";
    return (shown[key] ? shown[key](value, one) : String(value)).replace(neverShown, "\ufffd");
  };

  // ------------------------------------------------------------------ the order
  const order = { key: "place", falling: false };
  const collator = new Intl.Collator("en", { numeric: true });
  const ranked = (key) => { // words by their rank, so that many are sorted as numbers are
    const values = readings.map(held[key]);
    if (!values.some((value) => typeof value === "string")) return values;
    const rank = new Map([...new Set(values)].sort(collator.compare).map((value, at) => [value, at]));
    return values.map((value) => (value === "" ? null : rank.get(value)));
  };
  let sorted = readings;
  const sort = () => {
    const by = ranked(order.key), sign = order.falling ? -1 : 1;
    sorted = [...readings].sort((a, b) => {
      const left = by[a.place - 1], right = by[b.place - 1];
      if (left === null || right === null) return (left === null) - (right === null);
      return sign * (left - right);
    });
  };

  // ------------------------------------------------------------------ the page's own parts
  const make = (tag, settings = {}, ...children) => {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(settings)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  };
  const button = (words, act) => {
    const made = make("button", { type: "button" }, words);
    made.addEventListener("click", act);
    return made;
  };
  const filled = (pattern, values) => pattern.replace(/\{(\w+)\}/g, (_, name) => values[name]);

  const atOnce = readings.length > said.all_up_to ? said.at_once : Math.max(readings.length, 1);
  let from = 0;
  const lastFrom = Math.max(0, Math.floor((readings.length - 1) / atOnce) * atOnce);
  const leafTo = (at) => { from = Math.min(Math.max(at, 0), lastFrom); show(); };

  const heads = said.columns.map((column) => {
    const press = button(column.title, () => {
      order.falling = order.key === column.key && !order.falling;
      order.key = column.key;
      sort();
      leafTo(0);
    });
    return make("th", { scope: "col", class: column.is_number ? "number" : "" }, press);
  });
  const body = make("tbody");
  const standing = make("p", { role: "status", class: "standing" });
  const moves = {
    first: () => 0, earlier: () => from - atOnce, later: () => from + atOnce, last: () => lastFrom,
  };
  const leaves = Object.entries(moves).map(([name, to]) => button(said.moves[name], () => leafTo(to())));

  const row = (one) => make("tr", one.rows.void[one.at] < 0 ? {} : { class: "void" },
    ...said.columns.map(({ key, is_number }) => {
      const text = read(key, one);
      const kind = is_number ? "number" : text.length > said.in_one_line ? "sentence" : "";
      return make("td", kind ? { class: kind } : {}, text);
    }));

  const show = () => {
    body.replaceChildren(...sorted.slice(from, from + atOnce).map(row));
    said.columns.forEach((column, at) => {
      if (column.key !== order.key) heads[at].removeAttribute("aria-sort");
      else heads[at].setAttribute("aria-sort", order.falling ? "descending" : "ascending");
    });
    const [first, earlier, later, last] = leaves;
    for (const one of [first, earlier]) one.setAttribute("aria-disabled", String(from === 0));
    for (const one of [later, last]) one.setAttribute("aria-disabled", String(from === lastFrom));
    const column = said.columns.find(({ key }) => key === order.key).title;
    const untouched = order.key === "place" && !order.falling;
    const way = untouched ? said.as_stored : order.falling ? said.falling : said.rising;
    standing.textContent = filled(said.shown, {
      first: (from + 1).toLocaleString("en"),
      last: Math.min(from + atOnce, readings.length).toLocaleString("en"),
      count: readings.length.toLocaleString("en"),
      order: filled(way, { column }),
    });
  };

  // ------------------------------------------------------------------ kept as a table
  // Words that a spreadsheet would take for a formula are led by an apostrophe; numbers stay numbers.
  const cell = (key, one) => {
    const value = held[key](one);
    if (value === null) return "";
    if (key === "taken") return new Date(value).toISOString();
    if (typeof value === "number") return String(value);
    const text = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  const keep = () => {
    const titles = said.columns.map(({ title }) => (title.includes(",") ? `"${title}"` : title));
    const lines = sorted.map((one) => said.columns.map(({ key }) => cell(key, one)).join(","));
    const text = [titles.join(","), ...lines, ""].join("\r\n");
    const url = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
    make("a", { href: url, download: said.file }).click();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
  };

  const table = make("table", {},
    make("caption", { class: "unseen" }, said.heading), make("thead", {}, make("tr", {}, ...heads)), body);
  const leafing = make("div", { role: "group", "aria-label": said.leaf, class: "leaves" }, ...leaves);
  section.querySelector("div").replaceChildren(
    standing,
    ...(lastFrom ? [leafing] : []),
    make("div", { class: "wide", role: "group", tabindex: "0", "aria-label": said.heading }, table),
    make("p", { class: "keep" }, button(said.keep, keep)),
  );
  show();
})();
