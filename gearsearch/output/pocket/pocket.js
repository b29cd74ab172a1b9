/* The pocket chart: looks leads up in the rows that stand in this page, and nothing else. It sends and fetches nothing.
   First exact numbers, then the rows, then what is worked out from them, and last the page. The parts above the page
   run without one, and are tested so. */

/* ---- exact numbers: {n, d}, whole BigInts in lowest terms, d above zero ---- */

function gcd(a, b) {
  while (b) [a, b] = [b, a % b];
  return a < 0n ? -a : a;
}

function frac(n, d = 1n) {
  n = BigInt(n);
  d = BigInt(d);
  if (d < 0n) [n, d] = [-n, -d];
  const common = gcd(n, d) || 1n;
  return { n: n / common, d: d / common };
}

const INCH = frac(127n, 5n);
const PI = frac(314159265358979323846264338327950288419716939937510n, 10n ** 50n);
const DOUBTFUL = frac(1n, 1000n);
const HOPELESS = frac(1n, 100n);
const plus = (a, b) => frac(a.n * b.d + b.n * a.d, a.d * b.d);
const minus = (a, b) => frac(a.n * b.d - b.n * a.d, a.d * b.d);
const times = (a, b) => frac(a.n * b.n, a.d * b.d);
const over = (a, b) => frac(a.n * b.d, a.d * b.n);
const size = (a) => (a.n < 0n ? { n: -a.n, d: a.d } : a);
const sign = (a) => (a.n > 0n ? 1 : a.n < 0n ? -1 : 0);
const compare = (a, b) => sign({ n: a.n * b.d - b.n * a.d, d: 1n });
const same = (a, b) => a.n === b.n && a.d === b.d;
const textOf = (a) => (a.d === 1n ? `${a.n}` : `${a.n}/${a.d}`);

function toFloat(a) {
  const shift = BigInt(Math.max(0, a.d.toString(2).length - a.n.toString(2).length + 64));
  return Number((a.n << shift) / a.d) / 2 ** Number(shift);
}

function fromText(text) {
  const [n, d] = text.split("/");
  return frac(n, d || "1");
}

/* The very value of a float. */
function fromFloat(x) {
  let places = 0;
  while (!Number.isInteger(x) && places < 1100) {
    x *= 2;
    places += 1;
  }
  return frac(BigInt(x), 1n << BigInt(places));
}

/* The nearest whole number, half to even. */
function rounded(a) {
  const twice = 2n * a.n + a.d;
  let whole = twice / (2n * a.d);
  if (twice < 0n && whole * 2n * a.d !== twice) whole -= 1n;
  const isHalf = twice % (2n * a.d) === 0n;
  return isHalf && whole % 2n !== 0n ? whole - 1n : whole;
}

const scaled = (a, digits) => ({ n: a.n * 10n ** BigInt(digits), d: a.d });

function decimals(a, digits) {
  const whole = rounded(scaled(a, digits));
  const text = (whole < 0n ? -whole : whole).toString().padStart(digits + 1, "0");
  const point = text.length - digits;
  return (whole < 0n ? "-" : "") + text.slice(0, point) + (digits ? `.${text.slice(point)}` : "");
}

/* How many decimals show a number: the usual, and more until two digits of it are seen. */
function placesOf(a, usual) {
  let needed = usual;
  while (a.n && rounded(scaled(size(a), needed)) < 10n) needed += 1;
  return needed;
}

/* ---- figures as every other answer prints them ---- */

const inUnit = (mm, unit) => (unit === "in" ? over(mm, INCH) : mm);
const otherUnit = (unit) => (unit === "in" ? "mm" : "in");

function lengthText(mm, unit, signed = false) {
  const value = inUnit(mm, unit);
  const text = decimals(value, placesOf(value, unit === "in" ? 4 : 3));
  return `${signed && sign(value) > 0 ? "+" : ""}${text} ${unit}`;
}

function shareGrid(error) {
  if (compare(size(error), DOUBTFUL) >= 0) return { unit: frac(1n, 100n), digits: 3, name: "%" };
  const parts = times(size(error), frac(1000000n));
  return { unit: frac(1n, 1000000n), digits: placesOf(parts, compare(parts, frac(1n)) >= 0 ? 1 : 3), name: "ppm" };
}

/* An error as a share, with its sign, and digits enough to see on which side of the ends it lies. */
function shareText(error, ends = [frac(-1n, 1000n), DOUBTFUL]) {
  if (!error.n) return "0 ppm";
  const grid = shareGrid(error);
  let more = 0;
  while (more < 6 && !ends.every((end) => isSeen(error, end, grid, more))) more += 1;
  return `${sign(error) > 0 ? "+" : "-"}${decimals(over(size(error), grid.unit), grid.digits + more)} ${grid.name}`;
}

function isSeen(error, end, grid, more) {
  const digits = grid.digits + more;
  const seen = times(frac(rounded(scaled(over(error, grid.unit), digits)), 10n ** BigInt(digits)), grid.unit);
  return compare(error, end) === compare(seen, end);
}

/* Leads in a unit, with the digits that tell them apart. */
function leadTexts(leads, unit, least) {
  const places = leads.slice(1).reduce((most, lead, at) => Math.max(most, placesApart(leads[at], lead, unit, least)), 0);
  return leads.map((lead) => `${leadNumber(lead, unit, places, least)} ${unit}`);
}

function leadPlaces(lead, unit, places, least) {
  const usual = compare(lead, frac(10n)) < 0 || unit === "in" ? 4 : 3;
  return enough(inUnit(lead, unit), Math.max(usual, places), least);
}

const leadNumber = (lead, unit, places, least) => decimals(inUnit(lead, unit), leadPlaces(lead, unit, places, least));

function placesApart(a, b, unit, least) {
  let places = unit === "in" ? 4 : 3;
  const gap = inUnit(minus(b, a), unit);
  let needed = places;
  if (!gap.n || compare(gap, frac(1n, 10n ** BigInt(places))) > 0) return places;
  while (compare(frac(gap.n * 10n ** BigInt(places), gap.d), frac(1n)) <= 0) {
    const [one, other] = [a, b].map((lead) => leadNumber(lead, unit, places, least));
    if (compare(fromDecimal(one), fromDecimal(other)) === 0) needed = places + 1;
    places += 1;
  }
  return needed;
}

function fromDecimal(text) {
  const [whole, part = ""] = text.split(".");
  return frac(BigInt(whole + part), 10n ** BigInt(part.length));
}

function enough(value, places, digits) {
  while (compare(frac(value.n * 10n ** BigInt(places), value.d), frac(10n ** BigInt(digits - 1))) < 0) places += 1;
  return places;
}

function threadsText(lead, starts) {
  const threads = over(times(frac(starts), INCH), lead);
  return decimals(threads, enough(threads, 0, 5));
}

/* A gap in whole micrometres, rounded down, so that none is printed larger than it is. */
function gapText(um, unit) {
  const exact = inUnit(frac(um, 1000n), unit);
  let digits = unit === "in" ? 2 : 1;
  if (compare(scaled(exact, digits), frac(2n)) < 0) digits += 2;
  const { n, d } = scaled(exact, digits);
  return `${decimals(frac(n / d, 10n ** BigInt(digits)), digits)} ${unit}`;
}

/* A place to be set with a rule. */
function ruleText(mm, unit) {
  const exact = Math.round(mm * 1e6) / 1e6;
  const value = unit === "in" ? exact / 25.4 : exact;
  const digits = unit === "in" ? 2 : 1;
  return `${decimals(fromFloat(value), Math.abs(value) < 2 * 10 ** -digits ? digits + 2 : digits)} ${unit}`;
}

/* ---- what is typed ---- */

const AMOUNT = /^(?:(?:(\d+)(?:\s+|-))?(\d+)\s*\/\s*(\d+)|(\d+(?:\.\d*)?|\.\d+))\s*(.*)$/;
const UNITS = { mm: frac(1n), cm: frac(10n), m: frac(1000n), in: INCH, inch: INCH, inches: INCH, '"': INCH };

function amountIn(text, what) {
  const bare = text.trim().toLowerCase().replace(/[″”“]/g, '"').replace(/[′’]/g, "'");
  if (!bare) throw new Mistake(`${what}: type a value`);
  if (bare.includes(",")) throw new Mistake(`${what}: write decimals with a point, and thousands without a mark`);
  const found = AMOUNT.exec(bare);
  if (!found) throw new Mistake(`${what} “${text.trim()}” cannot be read: write a number, as in 412.5 or 16 1/4 in`);
  return [amountOf(found, what), found[5].replace(/\.$/, "")];
}

function amountOf([, whole, num, den, number], what) {
  if (number !== undefined) return fromDecimal(number.replace(/^\./, "0."));
  if (!Number(den)) throw new Mistake(`${what} divides by zero`);
  return plus(frac(whole || 0), frac(num, den));
}

function aboveZero(value, what) {
  if (sign(value) <= 0) throw new Mistake(`${what} must be above zero`);
  return value;
}

function readLength(text, unit, what) {
  const [amount, name] = amountIn(text, what);
  const factor = UNITS[name || unit];
  if (!factor) throw new Mistake(`${what}: “${name}” is no unit of length here; use mm or in`);
  const mm = times(aboveZero(amount, what), factor);
  if (compare(mm, frac(1n, 1000000n)) < 0 || compare(mm, frac(1000000000n)) > 0) {
    throw new Mistake(`${what} is far too small or too large`);
  }
  return mm;
}

/* A lead as a length, or as threads per inch. */
function readLead(text, unit) {
  const [amount, name] = amountIn(text, "lead");
  if (!/^(tpi|t\.p\.i|threads? per inch|\/ ?in(ch)?)$/.test(name || unit)) {
    return readLength(text, unit === "tpi" ? "mm" : unit, "lead");
  }
  return over(INCH, aboveZero(amount, "threads per inch"));
}

function readAngle(text, what) {
  const parts = /^\s*(\d+(?:\.\d+)?)\s*(?:[°d]|deg)?\s*(?:(\d+(?:\.\d+)?)\s*['′’m]\s*(?:(\d+(?:\.\d+)?)\s*(?:["″”s])?)?)?\s*$/i.exec(text);
  if (!parts) throw new Mistake(`${what} “${text.trim()}” cannot be read: write it as in 17.75 or 17°45'`);
  const [deg, min, sec] = parts.slice(1).map((part) => fromDecimal(part || "0"));
  return plus(deg, plus(over(min, frac(60n)), over(sec, frac(3600n))));
}

function readShare(text) {
  const [amount, name] = amountIn(text, "tolerance");
  const unit = { "%": 100n, percent: 100n, ppm: 1000000n }[name];
  if (!unit) throw new Mistake("tolerance: write it as in 200 ppm or 0.1 %");
  return over(aboveZero(amount, "tolerance"), frac(unit));
}

function slopeOf(degrees, what) {
  if (sign(degrees) <= 0 || compare(degrees, frac(90n)) >= 0) {
    throw new Mistake(`${what}: give an angle above 0° and below 90°`);
  }
  if (same(degrees, frac(45n))) return frac(1n);
  if (compare(degrees, frac(45n)) > 0) return over(frac(1n), slopeOf(minus(frac(90n), degrees), what));
  return fromFloat(Math.tan(toFloat(over(times(degrees, PI), frac(180n)))));
}

/* The lead that is wanted, and how it was come by in words. */
function wantedOf(asked) {
  const { by, unit } = asked;
  if (by === "lead") return { mm: readLead(asked.lead, asked.leadUnit), said: "" };
  if (by === "rise") {
    const [rise, arc] = [readLength(asked.rise, unit, "rise"), aboveZero(readAngle(asked.arc, "arc"), "arc")];
    return { mm: over(times(rise, frac(360n)), arc), said: "rise × 360° / arc" };
  }
  const what = by === "helix" ? "helix angle" : "lead angle";
  const angle = readAngle(asked.angle, what);
  const around = times(PI, readLength(asked.diameter, unit, "diameter"));
  const slope = slopeOf(angle, what);
  const rest = decimals(minus(frac(90n), angle), 3);
  if (by === "helix") return { mm: over(around, slope), said: `${what} from the work's AXIS; its lead angle is ${rest}°` };
  return { mm: times(around, slope), said: `${what} from SQUARE to the axis; its helix angle is ${rest}°` };
}

/* ---- the rows, as they are packed ---- */

function bytesOf(base64) {
  const text = atob(base64.trim());
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) bytes[at] = text.charCodeAt(at);
  return bytes;
}

async function unpacked(base64, length) {
  const bytes = bytesOf(base64);
  try {
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  } catch {
    return inflated(bytes, length);
  }
}

/* Deflate (RFC 1951) undone without the browser's help. */
function inflated(bytes, length) {
  const state = { bytes, at: 0, held: 0, bits: 0, out: new Uint8Array(length), end: 0 };
  let last = false;
  while (!last) {
    last = takeBits(state, 1) === 1;
    const kind = takeBits(state, 2);
    if (kind === 0) copyStored(state);
    else if (kind === 1) inflateBlock(state, ...fixedCodes());
    else inflateBlock(state, ...givenCodes(state));
  }
  return state.out;
}

function takeBits(state, count) {
  while (state.bits < count) {
    state.held |= state.bytes[state.at] << state.bits;
    state.at += 1;
    state.bits += 8;
  }
  const value = state.held & ((1 << count) - 1);
  state.held >>>= count;
  state.bits -= count;
  return value;
}

function copyStored(state) {
  state.held = state.bits = 0;
  const length = state.bytes[state.at] | (state.bytes[state.at + 1] << 8);
  state.out.set(state.bytes.subarray(state.at + 4, state.at + 4 + length), state.end);
  state.at += 4 + length;
  state.end += length;
}

/* How many codes there are of each length, and their symbols in order. */
function codesOf(lengths) {
  const counts = new Uint16Array(16);
  for (const length of lengths) counts[length] += length ? 1 : 0;
  const next = new Uint16Array(16);
  for (let bits = 1; bits < 15; bits += 1) next[bits + 1] = next[bits] + counts[bits];
  const symbols = new Uint16Array(lengths.length);
  lengths.forEach((length, symbol) => {
    if (length) symbols[next[length]++] = symbol;
  });
  return { counts, symbols };
}

function takeSymbol(state, { counts, symbols }) {
  let code = 0;
  let first = 0;
  let index = 0;
  for (let bits = 1; bits < 16; bits += 1) {
    code |= takeBits(state, 1);
    if (code - counts[bits] < first) return symbols[index + code - first];
    index += counts[bits];
    first = (first + counts[bits]) << 1;
    code <<= 1;
  }
  throw new Error("the rows of this page are damaged");
}

function fixedCodes() {
  const lengths = Array.from({ length: 288 }, (_, at) => (at < 144 ? 8 : at < 256 ? 9 : at < 280 ? 7 : 8));
  return [codesOf(lengths), codesOf(new Array(30).fill(5))];
}

function givenCodes(state) {
  const [literals, distances, many] = [takeBits(state, 5) + 257, takeBits(state, 5) + 1, takeBits(state, 4) + 4];
  const order = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
  const short = new Array(19).fill(0);
  for (let at = 0; at < many; at += 1) short[order[at]] = takeBits(state, 3);
  const lengths = lengthsIn(state, codesOf(short), literals + distances);
  return [codesOf(lengths.slice(0, literals)), codesOf(lengths.slice(literals))];
}

function lengthsIn(state, codes, count) {
  const lengths = [];
  while (lengths.length < count) {
    const symbol = takeSymbol(state, codes);
    if (symbol < 16) lengths.push(symbol);
    else {
      const value = symbol === 16 ? lengths[lengths.length - 1] : 0;
      const repeat = symbol === 16 ? 3 + takeBits(state, 2) : symbol === 17 ? 3 + takeBits(state, 3) : 11 + takeBits(state, 7);
      for (let at = 0; at < repeat; at += 1) lengths.push(value);
    }
  }
  return lengths;
}

function inflateBlock(state, literals, distances) {
  for (let symbol = takeSymbol(state, literals); symbol !== 256; symbol = takeSymbol(state, literals)) {
    if (symbol < 256) state.out[state.end++] = symbol;
    else {
      const length = copyLength(state, symbol - 257);
      const back = copyDistance(state, takeSymbol(state, distances));
      for (let at = 0; at < length; at += 1, state.end += 1) state.out[state.end] = state.out[state.end - back];
    }
  }
}

function copyLength(state, code) {
  if (code < 8) return 3 + code;
  if (code === 28) return 258;
  const extra = (code >> 2) - 1;
  return 3 + ((4 + (code & 3)) << extra) + takeBits(state, extra);
}

function copyDistance(state, code) {
  if (code < 4) return 1 + code;
  const extra = (code >> 1) - 1;
  return 1 + ((2 + (code & 1)) << extra) + takeBits(state, extra);
}

const KINDS = { u8: Uint8Array, u16: Uint16Array, i32: Int32Array, i64: BigInt64Array };

/* The columns; the first bytes of all values stand first, then the second ones. */
function columnsIn(bytes, about) {
  const columns = {};
  let at = 0;
  for (const [name, kind] of about.columns) {
    const wide = KINDS[kind].BYTES_PER_ELEMENT;
    const plain = new Uint8Array(about.rows * wide);
    for (let byte = 0; byte < wide; byte += 1) {
      for (let row = 0; row < about.rows; row += 1) plain[row * wide + byte] = bytes[at + row];
      at += about.rows;
    }
    columns[name] = new KINDS[kind](plain.buffer);
  }
  return columns;
}

/* ---- a chart: its leads in order, each with its rows ---- */

function chartOf(about, columns) {
  const chart = { about, columns, rough: new Float64Array(about.rows), order: null, groups: null, shown: null, gears: {} };
  for (let row = 0; row < about.rows; row += 1) {
    chart.rough[row] = Number(columns.lead_num[row]) / Number(columns.lead_den[row]);
  }
  chart.order = Uint32Array.from({ length: about.rows }, (_, row) => row);
  if (!ascends(chart)) chart.order.sort((a, b) => leadOrder(chart, a, b) || a - b);
  chart.groups = groupsOf(chart);
  chart.shown = shownOf(chart, new Map(), "both");
  return chart;
}

const leadOf = (chart, row) => ({ n: chart.columns.lead_num[row], d: chart.columns.lead_den[row] });

function leadOrder(chart, a, b) {
  const apart = chart.rough[a] - chart.rough[b];
  return Math.abs(apart) > 1e-12 * chart.rough[a] ? apart : compare(leadOf(chart, a), leadOf(chart, b));
}

function ascends(chart) {
  for (let row = 1; row < chart.about.rows; row += 1) if (leadOrder(chart, row - 1, row) > 0) return false;
  return true;
}

/* Where in the order each lead begins. */
function groupsOf(chart) {
  const { order, columns } = chart;
  const begins = [];
  for (let at = 0; at < order.length; at += 1) {
    const [row, before] = [order[at], order[at - 1]];
    const isSame = at && columns.lead_num[row] === columns.lead_num[before] && columns.lead_den[row] === columns.lead_den[before];
    if (!isSame) begins.push(at);
  }
  return Uint32Array.from(begins);
}

/* The leads that have a train to show, of a hand, and without the gears that are in use. */
function shownOf(chart, out, hand) {
  const { order, groups, about } = chart;
  const hands = about.hands.filter((each) => hand === "both" || each === hand || each === "either");
  const shown = { hands, groups: [], left: leftOf(about, out), scarce: scarceOf(about, out) };
  for (let group = 0; group < groups.length; group += 1) {
    const end = group + 1 < groups.length ? groups[group + 1] : order.length;
    if (isAnyThere(chart, shown, groups[group], end)) shown.groups.push(group);
  }
  return shown;
}

function isAnyThere(chart, shown, begin, end) {
  for (let at = begin; at < end; at += 1) {
    for (const hand of shown.hands) if (isThere(chart, shown, chart.order[at], hand)) return true;
  }
  return false;
}

function isThere(chart, shown, row, hand) {
  if (chart.columns[`state_${hand}`][row] !== 1) return false;
  if (!shown.scarce) return true;
  if (!chart.about.pieces.length) return hasLoose(chart, shown, row, hand);
  return !needsScarce(chart, shown.scarce, row, hand) || canBeMade(chart, shown, row, hand);
}

/* Whether there are loose gears for a train, where no joined pieces could serve: the quick way. */
function hasLoose(chart, shown, row, hand) {
  const { fixed } = chart.about;
  const columns = gearColumns(chart, hand);
  const lastDriven = chart.columns[`driven${chart.columns.pairs[row] - 1}`][row] - 1;
  for (let at = 0; at < columns.length; at += 1) {
    const one = columns[at][row] - 1;
    if (one >= 0 && shown.scarce[one]) {
      let needed = (fixed[0] === chart.columns.driver0[row] - 1 && fixed[0] === one ? -1 : 0) - (fixed[2] === lastDriven && fixed[2] === one ? 1 : 0);
      for (let other = 0; other < columns.length; other += 1) if (columns[other][row] - 1 === one) needed += 1;
      if (needed > shown.left.loose[one]) return false;
    }
  }
  return true;
}

/* The sizes of which some are in use, loose or in a joined piece; null where none are. */
function scarceOf(about, out) {
  if (!out.size) return null;
  const scarce = new Uint8Array(about.sizes.length);
  for (const key of out.keys()) {
    const number = Number(key.slice(1));
    for (const one of key[0] === "p" ? about.pieces[number].gears : [number]) scarce[one] = 1;
  }
  return scarce;
}

/* Whether a train has a gear, idle ones counted, of a size that some of are in use. */
function needsScarce(chart, scarce, row, hand) {
  return gearColumns(chart, hand).some((column) => column[row] && scarce[column[row] - 1]);
}

function gearColumns(chart, hand) {
  if (!chart.gears[hand]) {
    const name = new RegExp(`^(driver|driven)\\d+$|^(idler|idle)\\d+_${hand}$`);
    chart.gears[hand] = Object.keys(chart.columns).filter((each) => name.test(each)).map((each) => chart.columns[each]);
  }
  return chart.gears[hand];
}

/* The nearest leads with their trains, ascending: nearness is exact, and of two as near the shorter is taken. */
function lookUp(chart, wanted, near) {
  const { groups, order, shown } = chart;
  const lead = (place) => leadOf(chart, order[groups[shown.groups[place]]]);
  const [first, last] = around(chart, toFloat(wanted), near);
  const found = [];
  for (let place = first; place < last; place += 1) {
    found.push({ place, lead: lead(place), off: size(minus(lead(place), wanted)) });
  }
  found.sort((a, b) => compare(a.off, b.off) || compare(a.lead, b.lead));
  const nearest = found.slice(0, near).sort((a, b) => a.place - b.place);
  return nearest.flatMap(({ place, lead: mm }) => trainsAt(chart, shown.groups[place], mm, wanted));
}

/* Leads on both sides of one, as many as asked for and some to spare for what the floats cannot tell. */
function around(chart, wanted, near) {
  const { groups, order, shown, rough } = chart;
  let [low, high] = [0, shown.groups.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rough[order[groups[shown.groups[middle]]]] < wanted) low = middle + 1;
    else high = middle;
  }
  return [Math.max(0, low - near - 4), Math.min(shown.groups.length, low + near + 4)];
}

function trainsAt(chart, group, lead, wanted) {
  const { order, groups, shown } = chart;
  const end = group + 1 < groups.length ? groups[group + 1] : order.length;
  const found = new Map();
  for (let at = groups[group]; at < end; at += 1) {
    for (const hand of shown.hands) {
      if (isThere(chart, shown, order[at], hand)) {
        const hit = hitOf(chart, order[at], hand, lead, wanted);
        const key = [hit.train, hand, hit.clear, hit.starts, hit.way].join(" ");
        if (!found.has(key)) found.set(key, hit);
      }
    }
  }
  return [...found.values()];
}

function hitOf(chart, row, hand, lead, wanted) {
  const error = minus(over(lead, wanted), frac(1n));
  const clear = chart.columns[`clear_${hand}`][row];
  const starts = chart.about.countsThreads ? (chart.columns.starts ? chart.columns.starts[row] : 1) : 0;
  const [way, change] = ["way", "change"].map((name) => cell(chart, name, row));
  return { row, hand, lead, wanted, error, clear, starts, way, change, train: trainText(chart, row, hand), mounts: chart.about.mounts };
}

/* ---- a train: its gears, where they stand, and whether there are gears for it ---- */

const cell = (chart, name, row) => (chart.columns[name] ? chart.columns[name][row] : 0);

/* Every gear in power order; sizes by number. */
function wheelsOf(chart, row, hand) {
  const { about } = chart;
  const wheels = [];
  let shaft = 0;
  for (let pair = 0; pair < chart.columns.pairs[row]; pair += 1) {
    const plane = planeOf(pair, about.planes);
    wheels.push({ size: cell(chart, `driver${pair}`, row) - 1, role: "driver", shaft, plane, pair });
    for (const idler of idlersOf(chart, row, hand, pair)) {
      shaft += 1;
      wheels.push({ size: idler, role: "idler", shaft, plane, pair });
    }
    shaft += 1;
    wheels.push({ size: cell(chart, `driven${pair}`, row) - 1, role: "driven", shaft, plane, pair });
  }
  return wheels;
}

/* The plane of a pair: they go back and forth. */
function planeOf(pair, planes) {
  const period = Math.max(1, 2 * planes - 2);
  const at = pair % period;
  return at < planes ? at : period - at;
}

function idlersOf(chart, row, hand, pair) {
  const found = [];
  for (let at = 0; chart.columns[`idler${at}_${hand}`]; at += 1) {
    const idler = cell(chart, `idler${at}_${hand}`, row);
    if (idler && cell(chart, `idler_pair${at}_${hand}`, row) === pair + 1) found.push(idler - 1);
  }
  return found;
}

/* The partners of joined pieces that hang idle. */
function idleOf(chart, row, hand) {
  const found = [];
  for (let at = 0; chart.columns[`idle${at}_${hand}`]; at += 1) {
    const idle = cell(chart, `idle${at}_${hand}`, row);
    const [shaft, plane] = ["idle_shaft", "idle_plane"].map((name) => cell(chart, `${name}${at}_${hand}`, row) - 1);
    if (idle) found.push({ size: idle - 1, role: "idle", shaft, plane, pair: -1 });
  }
  return found.sort((a, b) => a.shaft - b.shaft);
}

function trainText(chart, row, hand) {
  const { sizes } = chart.about;
  const pairs = [];
  for (const wheel of wheelsOf(chart, row, hand)) {
    const { teeth, kind } = sizes[wheel.size];
    if (wheel.role === "driver") pairs.push(`${teeth}/`);
    else pairs[wheel.pair] += wheel.role === "idler" ? `(${teeth})/` : teeth + (kind ? `@${kind}` : "");
  }
  return pairs.join(" ");
}

/* What is left of each loose gear and of each joined piece. */
function leftOf(about, out) {
  const left = { loose: about.sizes.map((each) => each.loose), pieces: about.pieces.map((piece) => piece.count) };
  for (const [key, count] of out) {
    const [what, number] = [key[0] === "p" ? left.pieces : left.loose, Number(key.slice(1))];
    what[number] = Math.max(0, what[number] - count);
  }
  return left;
}

/* Whether the gears that are left make a train: loose, fixed to their shaft, or in joined pieces as it was judged. */
function canBeMade(chart, shown, row, hand) {
  const wheels = wheelsOf(chart, row, hand);
  const { about } = chart;
  const last = wheels[wheels.length - 1].shaft;
  const fixed = (wheel) => about.fixed[wheel.shaft === 0 ? 0 : wheel.shaft === last ? 1 : 2] === wheel.size;
  const shafts = new Map();
  for (const wheel of wheels) {
    if (!fixed(wheel)) shafts.set(wheel.shaft, [...(shafts.get(wheel.shaft) || []), wheel.size]);
  }
  const idle = new Map(idleOf(chart, row, hand).map((each) => [each.shaft, each.size]));
  const place = (shaft) => (shaft === 0 ? 0 : shaft === last ? 2 : 1);
  return taken(about, [...shafts].map(([shaft, sizes]) => ({ sizes, idle: idle.get(shaft), place: place(shaft) })), {
    loose: [...shown.left.loose],
    pieces: [...shown.left.pieces],
  });
}

function taken(about, shafts, left) {
  if (!shafts.length) return true;
  const [{ sizes, idle, place }, ...rest] = shafts;
  if (idle === undefined && takeLoose(sizes, left)) {
    if (taken(about, rest, left)) return true;
    for (const one of sizes) left.loose[one] += 1;
  }
  return about.pieces.some((piece, number) => {
    if (!left.pieces[number] || !serves(about, piece, sizes, idle, place)) return false;
    left.pieces[number] -= 1;
    const done = taken(about, rest, left);
    left.pieces[number] += 1;
    return done;
  });
}

function takeLoose(sizes, left) {
  for (const one of sizes) left.loose[one] -= 1;
  if (sizes.every((one) => left.loose[one] >= 0)) return true;
  for (const one of sizes) left.loose[one] += 1;
  return false;
}

/* Whether a joined piece serves: with both gears, with one and the partner that was judged, or where none was judged. */
function serves(about, { gears }, sizes, idle, place) {
  const [a, b] = gears;
  const isPiece = (one, other) => (a === one && b === other) || (a === other && b === one);
  if (sizes.length === 2) return isPiece(...sizes);
  if (idle !== undefined) return isPiece(sizes[0], idle);
  if (about.bracket || !gears.includes(sizes[0])) return false;
  return about.hangs[a === sizes[0] ? b : a][place];
}

/* Shafts and gears where they stand [mm]; null where no place was judged. */
function standOf(chart, row, hand) {
  const { about, columns } = chart;
  if (!about.bracket || !columns[`x0_${hand}`]) return null;
  const wheels = [...wheelsOf(chart, row, hand), ...idleOf(chart, row, hand)];
  const last = Math.max(...wheels.map((wheel) => wheel.shaft));
  const head = columns[`head_${hand}`] ? columns[`head_${hand}`][row] / 1e5 : about.bracket.apart[0];
  const ends = about.bracket.pivot === "first" ? [[0, 0], [head, 0]] : [[head, 0], [0, 0]];
  const shafts = [ends[0]];
  for (let stud = 0; stud < last - 1; stud += 1) {
    shafts.push(["x", "y"].map((axis) => columns[`${axis}${stud}_${hand}`][row] / 1e5));
  }
  const setting = (name) => (columns[`${name}_${hand}`] ? columns[`${name}_${hand}`][row] / 1e5 : 0);
  return {
    shafts: [...shafts, ends[1]],
    wheels: wheels.map((wheel) => ({ ...wheel, ...radiiOf(about, wheel) })),
    head,
    heads: [setting("least"), setting("most")],
    swing: setting("swing"),
    way: cell(chart, "way", row),
    slots: shafts.slice(1).map((_, stud) => cell(chart, `slot${stud}_${hand}`, row) || 1),
  };
}

function radiiOf(about, wheel) {
  const { teeth, module } = about.sizes[wheel.size];
  return { teeth, pitch: (module * teeth) / 2, tip: (module * (teeth + 2)) / 2 };
}

function gearName(about, { size: number }) {
  const { teeth, kind } = about.sizes[number];
  return `${teeth}${kind ? `@${kind}` : ""}`;
}

function shaftName(about, shaft, last, way) {
  if (shaft === 0) return about.firstShaft;
  return shaft === last ? about.ways[way].lastShaft : `stud ${shaft}`;
}

/* The distance of two shafts whose gears mesh, from the gears themselves; 0 where none do. */
function meshApart(stand, a, b) {
  for (const one of stand.wheels.filter((wheel) => wheel.shaft === a && wheel.pair >= 0)) {
    const other = stand.wheels.find((wheel) => wheel.shaft === b && wheel.pair === one.pair && Math.abs(a - b) === 1);
    if (other) return one.pitch + other.pitch;
  }
  return 0;
}

/* Where to set each stud, as one would with a rule. */
function studLines(chart, stand, unit) {
  const { about } = chart;
  const last = stand.shafts.length - 1;
  const pivot = about.bracket.pivot === "first" ? 0 : last;
  const apart = (a, b) => meshApart(stand, a, b) || Math.hypot(stand.shafts[a][0] - stand.shafts[b][0], stand.shafts[a][1] - stand.shafts[b][1]);
  const lines = [];
  for (let stud = 1; stud < last; stud += 1) {
    const [x, y] = stand.shafts[stud];
    const gears = stand.wheels.filter((wheel) => wheel.shaft === stud && wheel.role !== "idle").map((wheel) => wheel.teeth);
    const near = [stud - 1, stud + 1].filter((shaft) => shaft !== pivot);
    const to = near.map((shaft) => `${ruleText(apart(stud, shaft), unit)} from ${shaftName(about, shaft, last, stand.way)}`).join(", ");
    const where = about.bracket.numbered ? `in slot ${stand.slots[stud - 1]}` : `swing ${swingText((Math.atan2(y, x) * 180) / Math.PI)}`;
    const from = `${ruleText(apart(pivot, stud), unit)} from ${shaftName(about, pivot, last, stand.way)} (the pivot)`;
    lines.push(`stud ${stud} with ${gears.join(" and ")}: ${from}, ${to}; ${where}`);
  }
  if (about.bracket.numbered && last > 1) lines.push(`bracket swung ${swingText(stand.swing)} from the line of the shafts`);
  for (const wheel of stand.wheels.filter((each) => each.role === "idle")) {
    lines.push(`the idle ${gearName(about, wheel)} on ${shaftName(about, wheel.shaft, last, stand.way)}, of a joined piece, in plane ${wheel.plane + 1}`);
  }
  if (about.bracket.two && last > 2) lines.push(about.bracket.two);
  return [...lines, headLine(about, stand, unit)];
}

function swingText(degrees) {
  const text = decimals(fromFloat(Math.abs(degrees)), 1);
  return `${degrees < 0 ? "-" : "+"}${text}°`;
}

/* How far apart the shafts stand; of a head that can be moved, how far it may be off. */
function headLine(about, stand, unit) {
  const apart = `shafts ${ruleText(stand.head, unit)} apart`;
  const step = about.bracket.steps[stand.shafts.length - 2];
  if (!step) return apart;
  const [low, high] = stand.heads.map((mm) => ruleText(mm, unit));
  const tried = `head tried at every ${ruleText(step, unit)}`;
  if (low === high) return `set the head: ${apart}; at the next places tried it no longer mounts (${tried})`;
  return `set the head: ${apart}; it mounts from ${low} to ${high} (${tried})`;
}

/* What a train that stays on is kept on for, where gears are changed as seldom as can be. */
function staysOn(chart, change) {
  const { about, columns } = chart;
  const rows = [...columns.change.keys()].filter((row) => columns.change[row] === change);
  const by = (row) => (about.ways.length > 1 ? `${about.items[columns.item[row]].name}: ${about.ways[cell(chart, "way", row)].call}` : about.items[columns.item[row]].name);
  return [...new Set(rows.map(by))];
}

/* How the tool comes back into its groove: in a word, and in sentences. */
const catchingOf = (chart, row) => chart.about.catching[cell(chart, "catching", row) - 1] || ["", []];

/* Which gear goes where and meets which, a line each. */
function meshLines(chart, row, hand) {
  const { about } = chart;
  const wheels = wheelsOf(chart, row, hand);
  const last = wheels[wheels.length - 1].shaft;
  const name = (wheel) => `${gearName(about, wheel)} ${wheel.role} on ${shaftName(about, wheel.shaft, last, cell(chart, "way", row))}`;
  const lines = [];
  for (let at = 1; at < wheels.length; at += 1) {
    if (wheels[at].pair === wheels[at - 1].pair) lines.push(`${name(wheels[at - 1])} meets ${name(wheels[at])}`);
  }
  return lines;
}

/* ---- notes, kept on the device under the shop's name and the train's ---- */

const noteKey = (about, train, hand, way = 0) => JSON.stringify([about.shop, about.ways[way].call, train, hand]);

/* ---- the picture of a train, to scale, as it is seen along the shafts ---- */

const DASHES = ["", "5 3", "1.5 2.5"];

function svg(tag, attributes, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

const circle = ([x, y], r, more = {}) => svg("circle", { cx: x.toFixed(2), cy: (-y).toFixed(2), r: r.toFixed(2), fill: "none", ...more });
const stroke = (a, b, more = {}) => svg("line", { x1: a[0], y1: -a[1], x2: b[0], y2: -b[1], ...more });
const words = ([x, y], letters, text, more = {}) => svg("text", { x, y: -y, "font-size": letters, "text-anchor": "middle", "dominant-baseline": "central", ...more }, text);

function drawn(about, stand, unit) {
  const bare = boxOf(about, stand);
  const letters = Math.max(bare.wide, bare.high) / 22;
  const box = widened(bare, 2.5 * letters); // for counts that stand beyond a rim
  const said = stand.wheels.map((wheel) => `${wheel.teeth} ${wheel.role} on ${shaftName(about, wheel.shaft, stand.shafts.length - 1, stand.way)}`);
  return svg(
    "svg",
    { viewBox: `${box.x} ${box.y} ${box.wide} ${box.high + 3 * letters}`, role: "img", "aria-label": `The train to scale: ${said.join(", ")}` },
    ...bracketMarks(about, stand),
    ...stand.wheels.flatMap((wheel) => wheelMarks(stand, wheel)),
    ...stand.shafts.flatMap((at, shaft) => shaftMarks(about, stand, at, shaft)),
    ...stand.wheels.map((wheel) => countMark(stand, wheel, letters)),
    ...scaleMarks(box, letters, unit),
  );
}

function boxOf(about, stand) {
  const reach = stand.wheels.map((wheel) => ({ at: stand.shafts[wheel.shaft], far: wheel.tip }));
  reach.push(...about.bracket.obstacles.map(([x, y, r]) => ({ at: [x, y], far: r })));
  const [low, high] = [-1, 1].map((way) => [0, 1].map((axis) => Math[way < 0 ? "min" : "max"](...reach.map((one) => one.at[axis] + way * one.far))));
  return { x: low[0], y: -high[1], wide: high[0] - low[0], high: high[1] - low[1] };
}

const widened = ({ x, y, wide, high }, rim) => ({ x: x - rim, y: y - rim, wide: wide + 2 * rim, high: high + 2 * rim });

function bracketMarks(about, stand) {
  const { bracket } = about;
  const studs = stand.shafts.slice(1, -1);
  const marks = [stroke(stand.shafts[0], stand.shafts[stand.shafts.length - 1], { class: "thin", "stroke-dasharray": "8 3 2 3" })];
  if (studs.length) marks.push(...bracket.slots.map((line) => slotMark(line, stand, Math.max(...studs.map(([x, y]) => Math.hypot(x, y))) + 40)));
  marks.push(...bracket.obstacles.flatMap(([x, y, r]) => [circle([x, y], r, { class: "casting" }), words([x, y], Math.max(3, r / 2), "casting")]));
  return marks;
}

/* The line of a slot as the bracket is swung, no longer than there is room for. */
function slotMark(line, stand, most) {
  const turn = (stand.swing * Math.PI) / 180;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const points = line.map(([x, y]) => {
    const share = Math.min(1, most / (Math.hypot(x, y) || 1));
    return [share * (x * cos - y * sin), -share * (x * sin + y * cos)].map((value) => value.toFixed(2)).join(",");
  });
  return svg("polyline", { points: points.join(" "), class: "slot", fill: "none" });
}

function wheelMarks(stand, wheel) {
  const at = stand.shafts[wheel.shaft];
  const dashes = DASHES[wheel.plane] ? { "stroke-dasharray": DASHES[wheel.plane] } : {};
  return [circle(at, wheel.tip, { class: "tip", ...dashes }), circle(at, wheel.pitch, { class: "thin", "stroke-dasharray": "8 3 2 3" })];
}

function shaftMarks(about, stand, at, shaft) {
  const place = shaft === 0 ? 0 : shaft === stand.shafts.length - 1 ? 2 : 1;
  const arm = 2.5;
  const [x, y] = at;
  return [
    circle(at, about.bracket.nuts[place] || 2, { class: "nut" }),
    stroke([x - arm, y], [x + arm, y], { class: "thin" }),
    stroke([x, y - arm], [x, y + arm], { class: "thin" }),
  ];
}

/* The tooth count of a gear, away from what it meets: inside its rim and outside a smaller gear, else beyond its rim. */
function countMark(stand, wheel, letters) {
  const at = stand.shafts[wheel.shaft];
  const mate = stand.wheels.find((other) => other.pair === wheel.pair && Math.abs(other.shaft - wheel.shaft) === 1);
  const from = mate ? stand.shafts[mate.shaft] : [at[0] - 1, at[1]];
  const apart = Math.hypot(at[0] - from[0], at[1] - from[1]) || 1;
  const smaller = stand.wheels.filter((other) => other.shaft === wheel.shaft && other.tip < wheel.tip).map((other) => other.tip);
  const hole = Math.max(0.3 * wheel.pitch, ...smaller);
  const out = wheel.pitch - hole > 1.6 * letters ? (hole + wheel.pitch) / 2 : wheel.tip + 0.9 * letters;
  const place = [0, 1].map((axis) => at[axis] + ((at[axis] - from[axis]) / apart) * out);
  return words(place, letters, wheel.role === "idler" || wheel.role === "idle" ? `(${wheel.teeth})` : `${wheel.teeth}`, { class: "count" });
}

function scaleMarks(box, letters, unit) {
  const [long, text] = unit === "in" ? [50.8, "2 in"] : [50, "50 mm"];
  const [x, y] = [box.x + 6, -(box.y + box.high + letters)];
  return [stroke([x, y], [x + long, y], { class: "tip" }), words([x + long / 2, y - letters], letters * 0.8, text)];
}

/* ---- the page ---- */

const page = { chart: null, unit: "mm", out: new Map(), open: "" };
async function start() {
  const about = JSON.parse(byId("about").textContent);
  const columns = columnsIn(await unpacked(byId("rows").textContent, about.bytes), about);
  page.chart = chartOf(about, columns);
  restore();
  page.unit = kept.unit || about.units;
  buildGears();
  buildItems();
  listen();
  document.documentElement.className = "live";
  showUnit();
  answer();
}

/* -- the gears in use */

function buildGears() {
  const { sizes, pieces } = page.chart.about;
  const name = (number) => `${sizes[number].teeth}${sizes[number].kind ? `@${sizes[number].kind}` : ""}`;
  const keys = sizes.map((each, number) => ({ key: `s${number}`, count: each.loose, text: name(number) }));
  keys.push(...pieces.map((piece, number) => ({ key: `p${number}`, count: piece.count, text: piece.gears.map(name).join("+") })));
  for (const { key, count, text } of keys.filter((each) => each.count)) {
    byId("gears").append(el("button", { type: "button", className: "gear", "data-key": key, "data-count": count, "data-text": text, onclick: toggleGear }));
  }
  showGears();
}

/* A touch takes one out more; past the last all are back. */
function toggleGear(event) {
  const { key, count } = event.currentTarget.dataset;
  const taken = ((page.out.get(key) || 0) + 1) % (Number(count) + 1);
  if (taken) page.out.set(key, taken);
  else page.out.delete(key);
  showGears();
  answer();
}

function showGears() {
  for (const button of byId("gears").children) {
    const { key, count, text } = button.dataset;
    const taken = page.out.get(key) || 0;
    button.setAttribute("aria-pressed", taken ? "true" : "false");
    const owned = Number(count) > 1 ? (taken ? `${taken} of ${count} in use` : `${count} owned`) : taken ? "in use" : "";
    button.replaceChildren(el("b", {}, text), el("small", {}, owned));
  }
  byId("all-back").hidden = !page.out.size;
}

function allBack() {
  page.out.clear();
  showGears();
  answer();
}

/* -- what is asked */

function buildItems() {
  const { items } = page.chart.about;
  byId("by-item").hidden = !items.length;
  items.forEach((item, at) => byId("item").append(el("option", { value: at }, item.name)));
  if (items.length) document.querySelector("[name=by][value=item]").checked = true;
}

const chosen = (name) => document.querySelector(`[name=${name}]:checked`).value;

function asked() {
  const fields = Object.fromEntries(["lead", "angle", "diameter", "rise", "arc"].map((id) => [id, byId(id).value]));
  return { ...fields, by: chosen("by"), leadUnit: byId("lead-unit").value, unit: page.unit };
}

function wanted() {
  if (chosen("by") !== "item") return wantedOf(asked());
  const item = page.chart.about.items[Number(byId("item").value)];
  return { mm: fromText(item.wanted), said: item.name };
}

const optional = (id, read) => (byId(id).value.trim() ? read(byId(id).value) : null);

function listen() {
  byId("ask").addEventListener("input", answer);
  byId("ask").addEventListener("submit", (event) => event.preventDefault());
  byId("unit").addEventListener("click", changeUnit);
  byId("all-back").addEventListener("click", allBack);
  byId("save").addEventListener("click", saveNotes);
  byId("read").addEventListener("change", (event) => readNotes(event, answer));
}

function changeUnit() {
  page.unit = kept.unit = otherUnit(page.unit);
  keep();
  showUnit();
  answer();
}

function showUnit() {
  byId("unit").textContent = `Units: ${page.unit} (change to ${otherUnit(page.unit)})`;
  for (const each of document.querySelectorAll(".unit")) each.textContent = page.unit;
}

/* -- the answer */

function answer() {
  const by = chosen("by");
  for (const part of document.querySelectorAll("[data-by]")) part.hidden = !part.dataset.by.split(" ").includes(by);
  byId("angle-name").textContent = by === "helix" ? "Helix angle, from the work's AXIS" : "Lead angle, from SQUARE to the axis";
  sift();
  try {
    showAnswer();
  } catch (mistake) {
    if (!(mistake instanceof Mistake)) throw mistake;
    byId("said").textContent = mistake.message;
    byId("hits").replaceChildren();
  }
}

/* Sift the leads anew where the hand or the gears in use are others than before. */
function sift() {
  const by = JSON.stringify([chosen("hand"), [...page.out]]);
  if (by === page.sifted) return;
  page.sifted = by;
  page.chart.shown = shownOf(page.chart, page.out, chosen("hand"));
}

function showAnswer() {
  const { mm, said } = wanted();
  showHits(mm, said, optional("length", (text) => readLength(text, page.unit, "length of the cut")), optional("tolerance", readShare));
}

/* The nearest ten; for a name of a list none that is hopeless beside one that is not. */
function hitsOf(wantedMm) {
  const found = lookUp(page.chart, wantedMm, 10);
  const near = found.filter((hit) => compare(size(hit.error), HOPELESS) <= 0);
  return chosen("by") === "item" && near.length ? near : found;
}

function showHits(wantedMm, said, length, tolerance) {
  const hits = hitsOf(wantedMm);
  const best = hits.map((hit) => size(hit.error)).reduce((least, error) => (compare(error, least) < 0 ? error : least), frac(1000000000n));
  byId("said").textContent = [`wanted: ${bothText(wantedMm)}`, said, ...remarks(hits, wantedMm, tolerance)].filter(Boolean).join(". ");
  const texts = bothLeads(hits);
  const ends = tolerance && [minus(frac(1n), tolerance), plus(frac(1n), tolerance)].map((share) => times(wantedMm, share));
  const isMarked = hits.some((hit) => !same(size(hit.error), best));
  const rows = hits.map((hit, at) => hitRow(hit, texts[at], length, tolerance, isMarked && same(size(hit.error), best)));
  byId("hits").replaceChildren(...(ends ? withLines(hits, rows, ends) : rows));
}

const bothText = (mm) => `${lengthText(mm, page.unit)} (${lengthText(mm, otherUnit(page.unit))})`;

function bothLeads(hits) {
  const leads = hits.map((hit) => hit.lead);
  const least = page.chart.about.countsThreads ? 5 : 1;
  const [own, other] = [page.unit, otherUnit(page.unit)].map((unit) => leadTexts(leads, unit, least));
  return own.map((text, at) => [text, other[at]]);
}

function remarks(hits, wantedMm, tolerance) {
  const { chart } = page;
  const found = [];
  if (!chart.about.rows) return ["The chart is empty: no train does this"];
  if (!hits.length) return ["No train is left: put a gear back, or choose both hands"];
  const ends = [chart.groups[0], chart.groups[chart.groups.length - 1]].map((at) => leadOf(chart, chart.order[at]));
  if (compare(wantedMm, ends[0]) < 0 || compare(wantedMm, ends[1]) > 0) {
    found.push(`OUTSIDE this chart, which goes from ${bothText(ends[0])} to ${bothText(ends[1])}`);
  }
  if (!hits.some((hit) => compare(size(hit.error), HOPELESS) <= 0)) found.push("NO LEAD in this chart is within 1 % of the wanted one");
  if (!tolerance && hits.some(isOff)) found.push("OFF: more than 0.1 % off");
  if (page.out.size) found.push("Trains that need a gear in use are left out");
  return found;
}

const isOff = (hit) => compare(size(hit.error), DOUBTFUL) > 0;

/* The rows with a line where the tolerance begins and one where it ends. */
function withLines(hits, rows, [low, high]) {
  const line = (text) => el("li", { className: "line" }, text);
  const [first, after] = [hits.findIndex((hit) => compare(hit.lead, low) >= 0), hits.findIndex((hit) => compare(hit.lead, high) > 0)];
  const lines = [[first < 0 ? rows.length : first, line(`tolerance from ${lengthText(low, page.unit)}`)], [after < 0 ? rows.length : after, line(`tolerance up to ${lengthText(high, page.unit)}`)]];
  return [...rows.keys(), rows.length].flatMap((at) => [...lines.filter(([place]) => place === at).map(([, each]) => each), ...rows.slice(at, at + 1)]);
}

const JUDGED = { yes: "mounts", rule: "by the rule of thumb only", unknown: "mounting NOT JUDGED" };

function verdictText(hit, tolerance) {
  if (!tolerance) return isOff(hit) ? "OFF" : "";
  return compare(size(hit.error), tolerance) <= 0 ? "inside" : "OUTSIDE";
}

function hitRow(hit, [lead, other], length, tolerance, isNearest) {
  const { about } = page.chart;
  const difference = hit.error.n ? lengthText(minus(hit.lead, hit.wanted), page.unit, true) : "exact";
  const ends = tolerance ? [{ n: -tolerance.n, d: tolerance.d }, tolerance] : undefined;
  const key = noteKey(about, hit.train, hit.hand, hit.way);
  const verdict = verdictText(hit, tolerance);
  const part = (name, text) => el("span", { className: name }, text);
  const parts = [part("lead", lead), part("other", other), part("train", hit.train), part("hand", handText(hit.hand)), part("off", difference), part("relative", shareText(hit.error, ends)), part("verdict", verdict), part("mounts", JUDGED[hit.mounts])];
  if (about.ways.length > 1) parts.push(part("way", `route ${about.ways[hit.way].call}`));
  if (hit.change) parts.push(part("change", `PUT ON ${hit.change}`));
  const [dial] = catchingOf(page.chart, hit.row);
  if (dial) parts.push(part("dial", `dial ${dial}`));
  if (hit.starts) parts.push(part("tpi", `${threadsText(hit.lead, hit.starts)} tpi`));
  if (length) parts.push(part("over", hit.error.n ? `${lengthText(times(hit.error, length), page.unit, true)} over ${lengthText(length, page.unit)}` : ""));
  if (hit.clear >= 0) parts.push(part("clear", `clear ${gapText(hit.clear, page.unit)}`));
  if (isNearest) parts.push(part("nearest", "NEAREST"));
  if (hasNotes(key)) parts.push(part("noted", "has notes"));
  const isOpen = page.open === key;
  const button = el("button", { type: "button", className: "hit", "aria-expanded": String(isOpen), onclick: () => openRow(key) }, ...parts);
  const row = el("li", { className: isOpen ? "open" : "", "data-lead": textOf(hit.lead), "data-train": hit.train, "data-hand": hit.hand, "data-key": key }, button);
  if (isOpen) row.append(setUp(hit, key));
  return row;
}

const handText = (hand) => (hand === "either" ? page.chart.about.either : `${hand} hand`);

function hasNotes(key) {
  const note = noteOf(key);
  return Boolean(note.ticks.length || note.measured || note.notes);
}

function openRow(key) {
  page.open = page.open === key ? "" : key;
  answer();
  const row = [...byId("hits").children].find((each) => each.dataset.key === key);
  if (row) row.firstChild.focus();
}

/* -- a row opened: the set-up */

function setUp(hit, key) {
  const { chart, unit } = page;
  const stand = standOf(chart, hit.row, hit.hand);
  const note = noteOf(key);
  const steps = stepsOf(hit, stand);
  return el(
    "div",
    { className: "setup" },
    stand ? el("figure", {}, drawn(chart.about, stand, unit), el("figcaption", {}, planesText(stand))) : el("p", { className: "warn" }, chart.about.judged),
    ...listed("Which gear meets which", meshLines(chart, hit.row, hit.hand)),
    el("h3", {}, "Set up: tick each step"),
    el("ul", { className: "ticks" }, ...steps.map((text, at) => tickRow(key, text, String(at), note))),
    ...listed("Half nuts", catchingOf(chart, hit.row)[1]),
    ...(hit.change ? listed(`PUT ON ${hit.change} stays on for`, staysOn(chart, hit.change)) : []),
    ...listed("Cautions", chart.about.cautions),
    field("Measured lead", el("input", { type: "text", className: "measured", value: note.measured, oninput: (event) => changeNote(key, { measured: event.target.value }) })),
    field("Notes", el("textarea", { className: "notes", rows: 3, value: note.notes, oninput: (event) => changeNote(key, { notes: event.target.value }) })),
    el("button", { type: "button", className: "print", onclick: () => window.print() }, "Print this set-up"),
  );
}

const listed = (title, texts) => (texts.length ? [el("h3", {}, title), el("ul", {}, ...texts.map((text) => el("li", {}, text)))] : []);

const field = (name, input) => el("label", { className: "field" }, el("span", {}, name), input);

function planesText(stand) {
  const drawnAs = ["solid", "dashed", "dotted"];
  const planes = [...new Set(stand.wheels.map((wheel) => wheel.plane))].sort();
  return `Seen along the shafts, to scale. ${planes.map((plane) => `Plane ${plane + 1} ${drawnAs[plane]}`).join(", ")}. In brackets: an idler.`;
}

function stepsOf(hit, stand) {
  const { chart, unit } = page;
  const wheels = wheelsOf(chart, hit.row, hit.hand);
  const [first, last] = [wheels[0], wheels[wheels.length - 1]];
  const teeth = (wheel) => chart.about.sizes[wheel.size].teeth;
  const way = chart.about.ways[hit.way];
  const ends = [`${teeth(first)} on ${chart.about.firstShaft}`, `${teeth(last)} on ${way.lastShaft}`];
  const studs = stand ? studLines(chart, stand, unit) : ["studs: places not known; try the gears on"];
  const lever = way.lever ? [`gearbox lever to ${way.lever}`] : [];
  const turned = `guard on; turned by hand over the whole travel: ${bothText(hit.lead)} for one turn of the ${chart.about.work}`;
  return [ends[0], ...studs, ends[1], ...lever, way.engaging, way.test[hit.hand], turned];
}

function tickRow(key, text, id, note) {
  const box = el("input", { type: "checkbox", checked: note.ticks.includes(id) });
  box.addEventListener("change", () => tickNote(key, id, box.checked));
  return el("li", {}, el("label", { className: "tick" }, box, el("span", {}, text)));
}

if (typeof module !== "undefined") {
  module.exports = {
    chartOf, columnsIn, decimals, frac, fromFloat, gapText, inflated, leadTexts, lengthText, lookUp, meshLines, noteKey,
    readAngle, readLead, readLength, readShare, rounded, shareText, shownOf, slopeOf, soundNotes, standOf, studLines,
    textOf, threadsText, toFloat, wantedOf,
  };
}

if (typeof document !== "undefined") start();
