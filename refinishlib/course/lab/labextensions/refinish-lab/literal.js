// The text of an answer cell: finding `name = value`, reading plain values, writing one back. Knows Python's strings,
// brackets and comments, so that a # in quotes is no comment; runs nothing.

const OPEN = "([{";
const CLOSE = ")]}";
const STRING = /(?:[rR]|[uU]|[bB][rR]?|[rR][bB]|[fF][rR]?|[rR][fF])?("""|'''|"|')/y;

// Where the string that begins here ends, or -1 where it never does.
function endOfString(text, at, quote) {
  for (let i = at; i < text.length; i++) {
    if (text[i] === "\\") i++;
    else if (text.startsWith(quote, i)) return i + quote.length;
    else if (quote.length === 1 && text[i] === "\n") return -1;
  }
  return -1;
}

// The logical lines of a cell, each {start, end, comment}: a statement may go over several lines inside brackets or
// three quotes; the comment begins at `comment`, which is `end` where there is none.
function lines(text) {
  const found = [];
  let start = 0;
  while (start <= text.length) {
    const line = oneLine(text, start);
    found.push(line);
    start = line.end + 1;
  }
  return found;
}

function oneLine(text, start) {
  let depth = 0;
  let comment = -1;
  let i = start;
  for (; i < text.length; i++) {
    const letter = text[i];
    if (letter === "\n") {
      if (depth === 0) break;
      comment = -1;
    } else if (comment >= 0) continue;
    else if (letter === "#") comment = i;
    else if (letter === "\\" && text[i + 1] === "\n") i++;
    else if (OPEN.includes(letter)) depth++;
    else if (CLOSE.includes(letter)) depth = Math.max(0, depth - 1);
    else {
      STRING.lastIndex = i;
      const string = STRING.exec(text);
      if (string && !/\w/.test(text[i - 1] ?? "")) {
        const end = endOfString(text, STRING.lastIndex, string[1]);
        if (end < 0) return brokenLine(text, start);
        i = end - 1;
      }
    }
  }
  return depth > 0 ? brokenLine(text, start) : { start, end: i, comment: comment < 0 ? i : comment };
}

// A quote or a bracket without its partner: the line is what stands on it, up to a # after a blank.
function brokenLine(text, start) {
  const newline = text.indexOf("\n", start);
  const end = newline < 0 ? text.length : newline;
  const comment = text.slice(start, end).search(/(?<=\s)#/);
  return { start, end, comment: comment < 0 ? end : start + comment };
}

// Where the value of `name` stands: {start, end} within the text, or null. The last one counts, as in Python.
export function place(text, name) {
  let found = null;
  for (const line of lines(text)) {
    const before = /^\s*([\p{L}_][\p{L}\p{N}_]*)\s*=(?!=)[ \t]*/u.exec(text.slice(line.start, line.comment));
    if (before?.[1] !== name) continue;
    const start = line.start + before[0].length;
    found = { start, end: start + text.slice(start, line.comment).trimEnd().length };
  }
  return found;
}

// A plain value: {kind: "empty" | "text" | "list" | "other", value, source}. Numbers are texts as they were typed.
export function read(text, name) {
  const where = place(text, name);
  if (!where) return { kind: "empty", value: "", source: "" };
  const source = text.slice(where.start, where.end);
  return { ...plain(source), source };
}

function plain(source) {
  if (source === "" || source === "..." || source === "None") return { kind: "empty", value: "" };
  const one = item(source, 0);
  if (one && one.end === source.length) return { kind: "text", value: one.value };
  const closing = { "[": "]", "(": ")" }[source[0]];
  if (closing) {
    const list = items(source, closing);
    if (list) return { kind: "list", value: list };
  }
  return { kind: "other", value: source };
}

function items(source, closing) {
  const found = [];
  let at = skip(source, 1);
  while (at < source.length) {
    if (source[at] === closing) {
      const alone = closing === ")" && found.length === 1 && !/,\s*\)$/.test(source); // brackets round one value
      return skip(source, at + 1) === source.length && !alone ? found : null;
    }
    const one = source.startsWith("...", at) ? { value: "", end: at + 3 } : item(source, at);
    if (!one) return null;
    found.push(one.value);
    at = skip(source, one.end);
    if (source[at] === ",") at = skip(source, at + 1);
    else if (source[at] !== closing) return null;
  }
  return null;
}

function skip(source, at) {
  return at + /^(?:\s|#[^\n]*\n)*/.exec(source.slice(at))[0].length;
}

function item(source, at) {
  const number = /^[+-]?(?:\d[\d_]*(?:\.[\d_]*)?|\.\d[\d_]*)(?:[eE][+-]?\d+)?(?![\w.])/.exec(source.slice(at));
  if (number) return { value: number[0], end: at + number[0].length };
  const quote = /^(?:"""|'''|"|')/.exec(source.slice(at))?.[0];
  if (!quote) return null;
  const end = endOfString(source, at + quote.length, quote);
  if (end < 0) return null;
  const value = unescaped(source.slice(at + quote.length, end - quote.length));
  return value === null ? null : { value, end };
}

const ESCAPES = { n: "\n", t: "\t", r: "\r", b: "\b", f: "\f", v: "\v", a: "\x07", "\\": "\\", "'": "'", '"': '"', "\n": "" };
const ESCAPE = /\\(?:x([\da-fA-F]{2})|u([\da-fA-F]{4})|U([\da-fA-F]{8})|([0-7]{1,3})|([^])|$)/g;

function unescaped(inside) {
  let known = true;
  const value = inside.replace(ESCAPE, (whole, x, u, U, octal, letter) => {
    const hex = x ?? u ?? U;
    if (hex !== undefined) {
      const code = parseInt(hex, 16);
      if (code > 0x10ffff) known = false;
      return known ? String.fromCodePoint(code) : whole;
    }
    if (octal !== undefined) return String.fromCharCode(parseInt(octal, 8));
    if (letter === undefined || letter === "N" || letter === "x" || letter === "u" || letter === "U") known = false;
    return ESCAPES[letter] ?? whole;
  });
  return known ? value : null;
}

// What goes into the text for an entry: a quoted text, a list of them, or the three dots.
export function literal(value) {
  if (!Array.isArray(value)) return value.trim() === "" ? "..." : JSON.stringify(value.trim());
  return value.every((one) => one.trim() === "") ? "..." : `[${value.map(literal).join(", ")}]`;
}

// The one change that puts an entry into a text: {start, end, text}, or null where it stands there already.
export function change(text, name, value) {
  const wanted = literal(value);
  const where = place(text, name);
  if (!where) {
    const newline = text === "" || text.endsWith("\n") ? "" : "\n";
    return { start: text.length, end: text.length, text: `${newline}${name} = ${wanted}\n` };
  }
  if (text.slice(where.start, where.end) === wanted) return null;
  const blank = where.start === where.end && text[where.start - 1] === "=" ? " " : "";
  return { ...where, text: blank + wanted };
}
