/* The linked sheet: adds up what its reader chooses and hands the sums to the drawings.
   It works in a scope of its own, since the bundle of the drawings keeps one-letter names at the top.
   Sums and intervals are made here, against the rule that pages compute nothing, because the choices of a reader are
   far too many to be made beforehand. Counts and door-years add up exactly; the ends of an interval are looked up in
   the table count_intervals (exact, Garwood 1936), and for counts beyond it follow Byar's cube-root formula, whose
   ends are within 0.01 % there; shares have Wilson's score interval (1927), as everywhere in fitback. */
(() => {
  "use strict";
  const DATA = JSON.parse(document.getElementById("explored").textContent);
  const LISTS = { crew: DATA.crews, product: DATA.products, period: DATA.periods, fault: DATA.faults };
  const SIZE = { product: DATA.products.length, period: DATA.periods.length };
  const [Z, HUNDRED, ALL] = [1.959964, 100, ""];
  /* So little was watched that not even no callback at all would differ from the average: the exact upper end of a
     count of 0 is 3.69. It depends on the time watched, never on how many called. */
  const LEAST_EXPECTED = 3.69;
  const [OBLIQUE, ONWARD_RIGHT, ONWARD_UP] = ["M-.75,.75L.75,-.75", "M-.6,-.6L.4,0L-.6,.6", "M-.6,.6L0,-.4L.6,.6"];
  const MOST_ROWS = 24;
  const form = document.getElementById("choice");
  const CONTROLS = ["crew", "product", "fault", "since", "until"].filter((name) => form.elements[name]);

  /* Reading what was packed. */
  const unpacked = (steps, inner) => {
    const found = { crew: [], product: [], period: [], inner: [] };
    let cell = 0;
    for (const step of steps) {
      cell += step;
      let rest = cell;
      found.inner.push(rest % inner);
      rest = Math.floor(rest / inner);
      found.period.push(rest % SIZE.period);
      rest = Math.floor(rest / SIZE.period);
      found.product.push(rest % SIZE.product);
      found.crew.push(Math.floor(rest / SIZE.product));
    }
    return found;
  };
  const TIME = { ...unpacked(DATA.time.cells, 1), years: DATA.time.years, callbacks: DATA.time.callbacks };
  const FAULTS = { ...unpacked(DATA.called.cells, DATA.faults.length || 1), callbacks: DATA.called.callbacks };
  const STEPS = { ...unpacked(DATA.steps.cells, DATA.work.length || 1), doors: DATA.steps.doors, out: DATA.steps.out };

  /* What is chosen. */
  const chosenOf = (name) => (form.elements[name] ? form.elements[name].value : ALL);
  const choiceNow = () => {
    const choice = Object.fromEntries(["crew", "product", "fault"].map((name) => [name, chosenOf(name)]));
    choice.since = Number(chosenOf("since") || 0);
    choice.until = chosenOf("until") === ALL ? SIZE.period - 1 : Number(chosenOf("until"));
    return choice;
  };
  const isIn = (cells, at, choice, open) =>
    (open === "crew" || choice.crew === ALL || cells.crew[at] === Number(choice.crew)) &&
    (open === "product" || choice.product === ALL || cells.product[at] === Number(choice.product)) &&
    (open === "period" || (cells.period[at] >= choice.since && cells.period[at] <= choice.until));

  /* Sums. `open` is the side on which rows are told apart: there the choice does not narrow. */
  const blank = (n) => Array.from({ length: n }, () => ({ years: 0, callbacks: 0 }));
  const ratesBy = (open, choice) => {
    const sums = blank(open ? LISTS[open].length : 1);
    const place = (cells, at) => (open ? cells[open][at] : 0);
    for (let at = 0; at < TIME.years.length; at += 1) {
      if (!isIn(TIME, at, choice, open)) continue;
      sums[place(TIME, at)].years += TIME.years[at];
      if (choice.fault === ALL) sums[place(TIME, at)].callbacks += TIME.callbacks[at];
    }
    for (let at = 0; choice.fault !== ALL && at < FAULTS.callbacks.length; at += 1) {
      if (FAULTS.inner[at] === Number(choice.fault) && isIn(FAULTS, at, choice, open)) {
        sums[place(FAULTS, at)].callbacks += FAULTS.callbacks[at];
      }
    }
    return sums;
  };
  const faultsOf = (choice) => {
    const years = ratesBy("", { ...choice, fault: ALL })[0].years;
    const sums = blank(DATA.faults.length).map((sum) => ({ ...sum, years }));
    for (let at = 0; at < FAULTS.callbacks.length; at += 1) {
      if (isIn(FAULTS, at, choice, "")) sums[FAULTS.inner[at]].callbacks += FAULTS.callbacks[at];
    }
    return sums;
  };
  const stepsOf = (choice) => {
    const sums = DATA.work.map(() => ({ doors: 0, out: 0 }));
    for (let at = 0; at < STEPS.doors.length; at += 1) {
      if (!isIn(STEPS, at, choice, "")) continue;
      sums[STEPS.inner[at]].doors += STEPS.doors[at];
      sums[STEPS.inner[at]].out += STEPS.out[at];
    }
    return sums;
  };

  /* Intervals, 95 %. */
  const cube = (count, z) => count * (1 - 1 / (9 * count) + z / (3 * Math.sqrt(count))) ** 3;
  const countEnds = (count) =>
    count < DATA.intervals.low.length
      ? [DATA.intervals.low[count], DATA.intervals.high[count]]
      : [cube(count, -Z), cube(count + 1, Z)];
  const rateOf = ({ callbacks, years }) => {
    if (!years) return null;
    const [value, low, high] = [callbacks, ...countEnds(callbacks)].map((end) => (HUNDRED * end) / years);
    return { value, low, high };
  };
  const shareOf = ({ out, doors }) => {
    if (!doors) return null;
    const share = out / doors;
    const centre = (share + Z ** 2 / (2 * doors)) / (1 + Z ** 2 / doors);
    const half = (Z / (1 + Z ** 2 / doors)) * Math.sqrt((share * (1 - share)) / doors + Z ** 2 / (4 * doors ** 2));
    const low = out === 0 ? 0 : Math.max(centre - half, 0);
    const high = out === doors ? 1 : Math.min(centre + half, 1);
    return { value: HUNDRED * share, low: HUNDRED * low, high: HUNDRED * high };
  };
  const sideOf = (interval, datum) => {
    if (datum === null || (interval.low <= datum && datum <= interval.high)) return 0;
    return interval.low > datum ? 1 : -1;
  };

  /* Words. Numbers are rounded to what their interval supports, and further where rounding would hide its side. */
  const number = (value, digits = 0) => {
    const rounded = Math.round(value * 10 ** digits) / 10 ** digits || 0;
    const kept = Math.max(digits, 0);
    const words = rounded.toLocaleString("en-GB", { minimumFractionDigits: kept, maximumFractionDigits: kept });
    return words.replace("-", "\u2212");
  };
  const counted = (value, noun) => `${number(value)} ${noun}${value === 1 ? "" : "s"}`;
  const yearsWords = (years) => (years > 0 && years < 1 ? "under 1 door-year" : counted(Math.round(years), "door-year"));
  const digitsOf = (interval, datum) => {
    const width = interval.high - interval.low;
    const supported = width < 1e-9 ? 1 : -Math.floor(Math.log10(width / 5) + 1e-9);
    const side = sideOf(interval, datum);
    const near = side > 0 ? interval.low : interval.high;
    for (let digits = Math.min(Math.max(supported, -2), 3); digits <= 16; digits += 1) {
      const [shown, beside] = [near, datum].map((end) => Math.round(end * 10 ** digits) / 10 ** digits);
      const whole = digits >= 0 || [interval.low, interval.high].every((end) => Math.round(end * 10 ** digits) || Math.abs(end) < 0.5);
      if (whole && (!side || (shown - beside) * side > 0)) return digits;
    }
    return 3;
  };
  /* An average beside an interval: two significant digits at least; finer than the interval's keeps its side too. */
  const besideWords = (datum, digits) => number(datum, datum > 0 ? Math.max(digits, 1 - Math.floor(Math.log10(datum))) : digits);
  const told = (interval, datum, unit = "") => {
    const digits = digitsOf(interval, datum);
    const [value, low, high] = [interval.value, interval.low, interval.high].map((end) => number(end, digits));
    return `${value}${unit} (${low} to ${high})`;
  };
  const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);
  const WORDS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
  const inWords = (n) => WORDS[n] ?? number(n);
  const listed = (names) => (names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`);
  const periodWords = (choice) => {
    if (choice.since === 0 && choice.until === SIZE.period - 1) return "";
    const [first, last] = [DATA.periods[choice.since].name, DATA.periods[choice.until].name];
    return first === last ? first : `${first} to ${last}`;
  };
  const spoken = (listed) => listed.words ?? listed.name;
  const choiceWords = (choice, without = []) => {
    const named = (name) => (choice[name] === ALL ? "" : spoken(LISTS[name][choice[name]]));
    const wordsOf = (name) => (name === "period" ? periodWords(choice) : named(name));
    return ["crew", "product", "fault", "period"].filter((name) => !without.includes(name)).map(wordsOf).filter(Boolean);
  };
  /* A sentence said of the choice, which stands first. */
  const saidOf = (choice, without, sentence) => {
    const who = choiceWords(choice, without).join(", ");
    return who ? `${capital(who)}: ${sentence.slice(0, 1).toLowerCase()}${sentence.slice(1)}` : sentence;
  };
  const WAITS = "waits";
  const side = (way) => ({ "1": "above", "-1": "below", "0": "not told apart", [WAITS]: "still waits for paper" })[way];

  /* Rows of a drawing: its interval or that it is too few, against the datum. */
  const rateRow = (sum, datum) => {
    const interval = rateOf(sum);
    const isExpected = datum === null || (datum * sum.years) / HUNDRED >= LEAST_EXPECTED;
    const isFew = !interval || sum.years < DATA.least_years || !isExpected;
    return { ...sum, interval: isFew ? null : interval, datum, way: isFew ? null : sideOf(interval, datum) };
  };
  /* Paper that is still to come can lift a quarter, so that it is never said to lie below what all the time came to. */
  const isOfOpenTime = (choice) =>
    periodWords(choice) !== "" && DATA.periods.slice(choice.since, choice.until + 1).some((period) => period.waits);
  const waiting = (row) => (row.waits && row.way === -1 ? { ...row, way: WAITS } : row);
  const stood = (rows, noun, datumWords) => {
    const enough = rows.filter((row) => row.interval);
    const few = rows.length - enough.length;
    const open = enough.filter((row) => row.way === WAITS).length;
    const waits = open ? `; ${inWords(open)} still ${open === 1 ? "waits" : "wait"} for paper` : "";
    const rest = (few ? `; ${inWords(few)} ${few === 1 ? "has" : "have"} too few to tell` : "") + waits;
    if (!enough.length) return `Too few callbacks to tell any ${noun} from ${datumWords}`;
    const [above, below] = [1, -1].map((way) => enough.filter((row) => row.way === way).length);
    if (!above && !below) return `No ${noun} is told apart from ${datumWords}${rest}`;
    const stands = [[above, "above"], [below, "below"]].filter(([n]) => n);
    const [[n, way], second] = stands;
    const also = second ? `, and ${inWords(second[0])} wholly ${second[1]}` : "";
    const of = `${capital(inWords(n))} of ${counted(enough.length, noun)} ${n === 1 ? "lies" : "lie"}`;
    return `${of} wholly ${way} ${datumWords}${also}${rest}`;
  };
  const rateCells = (row) => [
    number(row.callbacks),
    number(row.years, row.years < 100 ? 1 : 0),
    row.interval ? told(row.interval, row.datum) : "too few to tell",
    row.interval ? side(row.way) : "",
  ];

  /* Views: each gives its rows, its sentence and the words that depend on the choice. */
  const rateView = (open, noun, order) => (choice) => {
    const whole = ratesBy("", { ...choice, ...(open === "period" ? { since: 0, until: SIZE.period - 1 } : { [open]: ALL }) })[0];
    const average = rateOf(whole);
    const datum = average && whole.callbacks ? average.value : null;
    const rows = ratesBy(open, choice).map((sum, place) => waiting({ ...rateRow(sum, datum), ...LISTS[open][place], place }));
    const seen = rows.filter((row) => row.years > 0 || row.callbacks > 0);
    const every = { crew: "all crews", product: "all products", period: "the whole time" }[open];
    const sentence = datum === null
      ? "No callback was reported, which tells nothing apart"
      : stood(seen, noun, `the average of ${every}, ${besideWords(datum, 0)}`);
    const says = saidOf(choice, [open], sentence);
    return { rows: order(seen), datum, says, cells: rateCells, datumWords: datum === null ? "" : every };
  };
  const byTime = (rows) => [...rows].sort((one, other) => DATA.size[other.place] - DATA.size[one.place]);
  const asTheyCome = (rows) => rows;
  const byYears = (rows) => [...rows].sort((one, other) => other.years - one.years || one.place - other.place);

  const faultView = (choice) => {
    const everywhere = { crew: ALL, product: ALL, fault: ALL, since: 0, until: SIZE.period - 1 };
    const firm = faultsOf(everywhere).map(rateOf);
    const rows = faultsOf(choice)
      .map((sum, place) => waiting({ ...rateRow(sum, firm[place] && firm[place].value), ...DATA.faults[place], place, waits: isOfOpenTime(choice) }))
      .filter((row) => row.years > 0)
      .sort((one, other) => other.callbacks - one.callbacks || one.place - other.place);
    const isWhole = !choiceWords(choice, ["fault"]).length;
    const first = rows[0];
    const top = !first || !first.callbacks ? "No fault was reported" :
      `Reported most often: ${spoken(first)}, ${counted(first.callbacks, "callback")} in ${yearsWords(first.years)}`;
    const apart = isWhole ? "" : `. ${stood(rows, "fault", "the firm's own average of that fault")}`;
    return { rows, datum: null, each: !isWhole, says: saidOf(choice, ["fault"], top) + apart, cells: rateCells, datumWords: "" };
  };

  const stepView = (choice) => {
    const everyone = stepsOf({ ...choice, crew: ALL }).map(shareOf);
    const rows = stepsOf(choice).map((sum, place) => {
      const interval = sum.doors >= DATA.least_doors ? shareOf(sum) : null;
      const datum = choice.crew !== ALL && everyone[place] ? everyone[place].value : null;
      return { ...sum, interval, datum, way: interval ? sideOf(interval, datum) : null, name: DATA.work[place], place };
    }).filter((row) => row.doors > 0);
    const enough = rows.filter((row) => row.interval);
    const worst = enough.reduce((most, row) => (!most || row.interval.value > most.interval.value ? row : most), null);
    const near = enough.filter((row) => row !== worst && row.interval.high >= worst.interval.low).map((row) => row.name);
    const beside = near.length ? `, not told apart from ${listed(near)}` : "";
    let says = worst
      ? `Most often out is the ${worst.name} step, ${told(worst.interval, worst.datum, "\u00a0%")} of ${counted(worst.doors, "door")}${beside}`
      : "Too few doors to tell how often a step is out";
    says = saidOf(choice, ["fault"], says);
    if (choice.crew !== ALL && enough.length) says += `. ${stood(rows, "step", "all crews in the same choice")}`;
    const cells = (row) => [
      number(row.out), number(row.doors),
      row.interval ? told(row.interval, row.datum, "\u00a0%") : "too few to tell",
      row.interval && row.datum !== null ? side(row.way) : "",
    ];
    return { rows, datum: null, each: true, says, cells, datumWords: "" };
  };
  const VIEWS = {
    periods: rateView("period", "quarter", asTheyCome),
    crews: rateView("crew", "crew", byTime),
    products: rateView("product", "product", byYears),
    faults: faultView,
    steps: stepView,
  };

  /* Drawing. */
  const narrowScreen = window.matchMedia("(max-width: 700px)");
  const reachOf = (rows, datum) => {
    const intervals = rows.filter((row) => row.interval).map((row) => row.interval);
    const largest = Math.max(datum || 0, ...intervals.map((interval) => interval.value), 0.1);
    if (!intervals.length) return datum ? 2 * datum : 100; // nothing is drawn: the axis has a hundred, no decimals
    return 1.05 * Math.min(Math.max(datum || 0, ...intervals.map((interval) => interval.high), 0.1), 3 * largest);
  };
  /* All numbers of a drawing have the decimals that the middle one of its intervals supports, as on the other sheets. */
  const onePrecision = (rows) => {
    const each = rows.filter((row) => row.interval).map((row) => digitsOf(row.interval, row.datum)).sort((one, other) => one - other);
    return each.length ? each[Math.floor(each.length / 2)] : 0;
  };
  const drawnRows = (rows, chosen) =>
    rows.length <= MOST_ROWS ? rows : rows.filter((row, at) => at < MOST_ROWS || String(row.place) === chosen);
  const placed = (view, key, reach, isColumns, isNarrow, width, chosen) => {
    const rows = drawnRows(view.rows, chosen);
    const digits = onePrecision(rows);
    const [left, right, end] = [62, width - 104, width - 2];
    const step = isColumns ? (right - left) / Math.max(rows.length, 1) : isNarrow ? 52 : 30;
    const first = isColumns ? left + step / 2 : isNarrow ? 58 : 36;
    const marks = rows.map((row, at) => {
      const along = first + at * step;
      const interval = row.interval || { value: 0, low: 0, high: 0 };
      const [above, unit] = [interval.high > reach, key === "steps" ? "\u00a0%" : ""];
      const counts = key === "steps" ? `${number(row.out)} of ${counted(row.doors, "door")}` : `${number(row.callbacks)} in ${yearsWords(row.years)}`;
      const names = isColumns ? row.short : [row.label ?? row.name, ""];
      return {
        x: along, y: along, place: String(row.place), at: row.place, name: names[0], under: names[1],
        counts: isColumns ? number(row.callbacks) : isNarrow ? counts.replace("door-", "") : counts,
        few: row.interval ? "" : isColumns ? "few" : "too few to tell",
        value: Math.min(interval.value, reach), low: interval.low, high: Math.min(interval.high, reach),
        low_end: OBLIQUE, high_end: above ? (isColumns ? ONWARD_UP : ONWARD_RIGHT) : OBLIQUE,
        shown: number(interval.value, digits) + unit,
      };
    });
    const foot = first + (rows.length - 1) * step + 16;
    const datums = [];
    if (view.datum !== null && isColumns) datums.push({ value: view.datum, from: end, to: left, words: view.datumWords });
    else if (view.datum !== null && !isNarrow) datums.push({ value: view.datum, from: 16, to: foot, words: view.datumWords });
    const isEach = view.each || (view.datum !== null && isNarrow && !isColumns);
    if (isEach) {
      rows.forEach((row, at) => {
        if (row.datum !== null && row.interval) datums.push({ value: Math.min(row.datum, reach), from: first + at * step - 13, to: first + at * step + 13, words: "" });
      });
    }
    return { marks, datums, height: isColumns ? null : foot + 8 };
  };
  const drawn = new Map();
  const specOf = (key, isNarrow) => {
    const text = document.getElementById(`${key}-${isNarrow ? "narrow" : "wide"}`).textContent;
    const spec = JSON.parse(text);
    for (const parameter of spec.params) if (parameter.bind) parameter.value = form.elements[parameter.name].value;
    return spec;
  };
  const embedded = async (key) => {
    const isNarrow = narrowScreen.matches;
    const kept = drawn.get(key);
    if (kept && kept.isNarrow === isNarrow) return kept;
    if (kept) kept.view.finalize();
    const place = document.getElementById(`${key}-drawing`);
    /* ast: expressions are interpreted, so that the page may forbid the making of code from text. */
    const options = { actions: false, renderer: "svg", ast: true, defaultStyle: false };
    const spec = specOf(key, isNarrow);
    const { view } = await window.vegaEmbed(place, spec, options);
    drawn.set(key, { view, isNarrow, width: spec.width });
    return drawn.get(key);
  };
  const draw = async (key, view, choice) => {
    const { view: drawing, isNarrow, width } = await embedded(key);
    const isColumns = key === "periods" && !isNarrow;
    const reach = reachOf(view.rows, view.datum);
    const { marks, datums, height } = placed(view, key, reach, isColumns, isNarrow, width, choice[key.slice(0, -1)]);
    drawing.signal("reach", reach).data("rows", marks).data("datums", datums);
    if (height) drawing.height(height);
    await drawing.runAsync();
    const svg = document.querySelector(`#${key}-drawing svg`);
    svg.setAttribute("aria-hidden", "true");
  };

  /* Words and tables of the page. An interval stands in the quiet pencil, as on the other sheets. */
  const write = (place, text) => {
    const parts = text.split(/(\([\u2212\d.,]+ to [\u2212\d.,]+\))/);
    place.replaceChildren(...parts.map((part, at) => {
      if (at % 2 === 0) return document.createTextNode(part);
      const quiet = document.createElement("span");
      quiet.className = "quiet";
      quiet.textContent = part;
      return quiet;
    }));
  };
  const tabulate = (key, view) => {
    const body = document.querySelector(`#${key}-table tbody`);
    document.querySelector(`#${key}-table summary`).textContent = view.rows.length > MOST_ROWS
      ? `The numbers of all ${number(view.rows.length)}; the drawing has the first ${MOST_ROWS} and what you chose`
      : "The numbers of this drawing";
    const labels = [...document.querySelectorAll(`#${key}-table thead th`)].map((cell) => cell.textContent);
    body.replaceChildren(...view.rows.map((row) => {
      const line = document.createElement("tr");
      [row.name, ...view.cells(row)].forEach((text, at) => {
        const cell = document.createElement(at ? "td" : "th");
        if (at) cell.dataset.label = labels[at];
        else cell.scope = "row";
        if (at === 1 || at === 2) cell.className = "number";
        const shown = document.createElement("bdi");
        write(shown, text);
        cell.append(shown);
        line.append(cell);
      });
      return line;
    }));
  };
  const answer = (choice) => {
    const parts = choiceWords(choice);
    const who = parts.length ? capital(parts.join(", ")) : "The whole firm";
    const [sum] = ratesBy("", choice);
    const [firm] = ratesBy("", { crew: ALL, product: ALL, fault: choice.fault, since: 0, until: SIZE.period - 1 });
    const firmRate = rateOf(firm);
    const isPart = choice.crew !== ALL || choice.product !== ALL || periodWords(choice) !== "";
    const datum = isPart && firm.callbacks && firmRate ? firmRate.value : null;
    const row = waiting({ ...rateRow(sum, datum), waits: isOfOpenTime(choice) });
    const from = `${counted(sum.callbacks, "callback")} in ${yearsWords(sum.years)}`;
    if (!sum.years) return `${who}: no door was watched there.`;
    if (!row.interval) return `${who}: too few to tell a rate, ${from}.`;
    const of = choice.fault === ALL ? "" : " for that fault";
    const stands = { "1": "the whole interval lies above", "-1": "the whole interval lies below", "0": "not told apart from", [WAITS]: "paper is still to come before it can be held against" }[row.way];
    const beside = row.datum !== null ? `; ${stands} the firm's ${besideWords(row.datum, digitsOf(row.interval, row.datum))}${of}` : "";
    return `${who}: ${told(row.interval, row.datum)} callbacks per 100 door-years, from ${from}${beside}.`;
  };

  /* One choice, every drawing. */
  const remember = () => {
    const kept = CONTROLS.filter((name) => !isDefault(name)).map((name) => `${name}=${encodeURIComponent(form.elements[name].selectedOptions[0].text)}`);
    history.replaceState(null, "", kept.length ? `#${kept.join("&")}` : location.pathname + location.search);
  };
  const isDefault = (name) => [...form.elements[name].options].findIndex((option) => option.defaultSelected) === form.elements[name].selectedIndex;
  /* An address cut short in a letter may end within a sign; then it says nothing. */
  const asWritten = (text) => {
    try {
      return decodeURIComponent(text);
    } catch {
      return "";
    }
  };
  const recall = () => {
    for (const part of location.hash.slice(1).split("&")) {
      const [name, text] = part.split("=");
      const control = CONTROLS.includes(name) ? form.elements[name] : null;
      const option = control && [...control.options].find((each) => each.text === asWritten(text || ""));
      if (option) control.value = option.value;
    }
    const { since, until } = choiceNow();
    if (since > until) form.elements.until.value = form.elements.since.value;
  };
  const follow = async () => {
    const choice = choiceNow();
    if (DATA.has_log) write(document.querySelector("h1"), answer(choice));
    for (const key of DATA.views) {
      const view = VIEWS[key](choice);
      write(document.getElementById(key), `${view.says}.`);
      tabulate(key, view);
      await draw(key, view, choice);
    }
    document.body.dataset.drawn = String(Number(document.body.dataset.drawn || 0) + 1);
  };
  let turn = Promise.resolve(); // a drawing that failed is told by the browser and does not stop the next
  const followInTurn = () => {
    turn = turn.catch(() => {}).then(follow);
  };
  const setControl = (name, value) => {
    form.elements[name].value = value;
    form.elements[name].dispatchEvent(new Event("change"));
  };
  form.addEventListener("change", (event) => {
    const { since, until } = choiceNow();
    if (since > until) setControl(event.target.id === "since" ? "until" : "since", event.target.value);
    remember();
    followInTurn();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  document.getElementById("again").addEventListener("click", () => {
    form.reset();
    CONTROLS.forEach((name) => setControl(name, form.elements[name].value));
    remember();
    followInTurn();
  });
  narrowScreen.addEventListener("change", followInTurn);
  form.reset();
  recall();
  followInTurn();
})();
