"use strict";

const at = (id) => document.getElementById(id);

// make builds an element of words alone: nothing that is sent becomes markup here.
function make(tag, attributes, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...inside);
  return made;
}

let speaking = { as: "", in: "" };
let now = null; // the state shown
let view = 0; // counts the speakers and places chosen: what comes for an earlier one is not shown
let choice = 0; // counts what was opened: a form that comes for an earlier one is put away
let watching = null;
let requests = [], listed = "";
let chosen = null; // the request that is being written
const seen = new Map(); // messages seen, by speaker and place

// ---- talking to the server

async function send(path, fields) {
  const body = new FormData();
  body.append("as", speaking.as);
  body.append("in", speaking.in);
  for (const [name, value] of fields || []) body.append(name, value);
  let response;
  try {
    response = await fetch(path, { method: "POST", body });
  } catch {
    return { note: "The rehearsal cannot be reached. Is it still running?", lost: true };
  }
  let out = {};
  try {
    out = await response.json();
  } catch {
    out = { note: "The rehearsal answered with something unreadable." };
  }
  out.lost = !response.ok;
  return out;
}

// watch shows what is, and then what changes, until somebody or something else is chosen.
async function watch() {
  const mine = ++view;
  if (watching) watching.abort();
  watching = new AbortController();
  let stamp = "";
  while (mine === view) {
    let state = null;
    try {
      const query = new URLSearchParams({ as: speaking.as, in: speaking.in, stamp });
      const response = await fetch("/state?" + query, { signal: watching.signal });
      if (response.status === 422) {
        speaking = { as: "", in: "" }; // they are gone
        document.body.dataset.lost = "yes";
      }
      if (response.ok) state = await response.json();
    } catch {
      state = null;
    }
    if (mine !== view) return;
    if (!state) {
      link("The rehearsal cannot be reached. Is it still running?", false);
      await new Promise((go) => setTimeout(go, 1000));
      continue;
    }
    stamp = state.stamp;
    show(state);
  }
}

function go(as, place) {
  speaking = { as, in: place };
  opened();
  if (at("form").open) at("form").close();
  complain("");
  watch();
}

// opened gives the number of what is opened now; whatever was asked before has a lower one.
function opened() {
  choice++;
  document.body.dataset.choice = choice;
  return choice;
}

// ---- what is shown

function link(text, well) {
  at("link").textContent = text;
  at("link").className = well ? "well" : "unwell";
}

function show(state) {
  const first = now === null;
  const moved = first || now.as !== state.as || now.in !== state.in;
  now = state;
  speaking = { as: state.as, in: state.in };
  at("server").textContent = ": " + state.server;
  link(state.linked ? "Shortday is here. Nothing on this page reaches Discord." : "Shortday is not here at the moment.", state.linked);
  if (first) {
    for (const m of state.members) seen.set(m.key + " direct", m.direct);
    for (const p of state.places) seen.set(p.key, p.count);
  }
  const here = state.members.find((m) => m.key === state.as);
  seen.set(state.in === "direct" ? state.as + " direct" : state.in, state.in === "direct" ? here.direct : state.places.find((p) => p.key === state.in).count);
  speakers(state);
  places(state, here);
  at("time").textContent = state.time;
  at("manages").checked = here.manages;
  at("manager").textContent = here.name + " may manage the server";
  cards(state, moved);
  if (listed !== state.requests) list(state.requests);
  document.body.dataset.view = state.as + " " + state.in;
  document.body.dataset.cards = state.cards.length;
}

function tag(name, current, fresh, act) {
  const made = make("button", { type: "button", "aria-pressed": String(current) }, name);
  if (fresh) made.append(make("span", { class: "fresh" }, "new"));
  made.addEventListener("click", act);
  return made;
}

// renew puts buttons in place of others and keeps the keyboard where it was.
function renew(box, made) {
  const held = [...box.children].indexOf(document.activeElement);
  box.replaceChildren(...made);
  if (held >= 0 && made[held]) made[held].focus();
}

function speakers(state) {
  const several = new Set(state.members.map((m) => m.server)).size > 1;
  renew(at("speakers"), state.members.map((m) => {
    const fresh = m.direct > (seen.get(m.key + " direct") || 0);
    const home = m.key.split(".")[0] === state.as.split(".")[0];
    return tag(several ? m.name + " (" + m.server + ")" : m.name, m.key === state.as, fresh && m.key !== state.as, () => go(m.key, home ? speaking.in : ""));
  }));
}

function places(state, here) {
  const made = state.places.map((p) => {
    const fresh = p.count > (seen.get(p.key) || 0);
    return tag("#" + p.name, p.key === state.in, fresh, () => go(speaking.as, p.key));
  });
  const fresh = here.direct > (seen.get(here.key + " direct") || 0);
  made.push(tag("Direct to " + here.name, state.in === "direct", fresh, () => go(speaking.as, "direct")));
  renew(at("places"), made);
}

function cards(state, moved) {
  const sheet = at("sheet"), box = at("cards");
  const low = moved || sheet.scrollHeight - sheet.scrollTop - sheet.clientHeight < 120;
  const kept = new Map([...box.children].map((c) => [c.id, c]));
  state.cards.forEach((card, i) => {
    let shown = kept.get("m" + card.id);
    kept.delete("m" + card.id);
    if (!shown || shown.dataset.stamp !== card.stamp) {
      const written = document.createElement("template");
      written.innerHTML = card.html; // escaped by the server
      const fresh = written.content.querySelector("article");
      fresh.dataset.stamp = card.stamp;
      for (const t of fresh.querySelectorAll(".text time")) t.textContent = new Date(t.dateTime).toLocaleString(undefined, { dateStyle: "full", timeStyle: "short" });
      for (const p of fresh.querySelectorAll("img")) p.addEventListener("load", () => { if (low) sheet.scrollTop = sheet.scrollHeight; }, { once: true });
      if (shown) shown.replaceWith(fresh);
      shown = fresh;
    }
    if (box.children[i] !== shown) box.insertBefore(shown, box.children[i] || null);
  });
  for (const gone of kept.values()) gone.remove();
  at("older").hidden = state.older === 0;
  at("older").textContent = state.older + " older " + (state.older === 1 ? "message is" : "messages are") + " not shown here any more.";
  at("empty").hidden = state.cards.length > 0;
  if (low) sheet.scrollTop = sheet.scrollHeight;
}

function complain(text) {
  at("note").textContent = text;
  at("note").hidden = text === "";
}

// ---- asking, pressing, filling in

// pend shows that something is being answered, until what it gives is called.
function pend(text) {
  const line = make("li", {}, text);
  at("pending").append(line);
  at("sheet").scrollTop = at("sheet").scrollHeight;
  return () => line.remove();
}

function name() {
  const here = now.members.find((m) => m.key === speaking.as);
  return here ? here.name : "Somebody";
}

// take shows what came of something: a form only if nothing has been opened since.
function take(mine, what, out) {
  if (mine !== choice) {
    if (out.form) complain("The form for " + what + " came late, and something else is open by now. Ask again for it.");
    else if (out.note) complain(what + ": " + out.note);
    document.body.dataset.late = 1 + Number(document.body.dataset.late || 0);
    return false;
  }
  complain(out.note || "");
  if (out.form) fill(out.form);
  return true;
}

at("line").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!chosen || at("request").value.trim() !== chosen.path) {
    if (!read(at("request").value)) {
      complain(at("request").value.trim() === "" ? "Type / and choose what to ask." : "There is no such request. Type / and choose one.");
      return;
    }
  }
  const fields = [["request", chosen.path]];
  for (const box of document.querySelectorAll("#line [data-field]")) {
    const value = box.type === "file" ? box.files[0] : box.dataset.value || box.value;
    if (value) fields.push(["f." + box.dataset.field, value]);
  }
  const what = chosen.path, mine = opened();
  const done = pend(name() + " asked " + what);
  const out = await send("/ask", fields);
  done();
  if (take(mine, what, out) && !out.lost) clear();
});

at("cards").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.hasAttribute("data-take")) {
    const menu = button.previousElementSibling;
    const picks = [...menu.selectedOptions].map((o) => o.value);
    if (picks.length < Number(menu.dataset.least) || picks.length > Number(menu.dataset.most)) {
      complain("Take from " + menu.dataset.least + " to " + menu.dataset.most + ".");
      return;
    }
    press(menu, menu.dataset.label, picks);
    return;
  }
  press(button, button.textContent, []);
});

at("cards").addEventListener("change", (event) => {
  const menu = event.target.closest("select:not([multiple])");
  if (!menu || menu.value === "") return;
  const picks = [menu.value], what = menu.selectedOptions[0].textContent;
  menu.value = "";
  press(menu, what, picks);
});

async function press(control, what, picks) {
  const mine = opened();
  const done = pend(name() + " chose " + what);
  const out = await send("/press", [["message", control.dataset.message], ["control", control.dataset.control], ...picks.map((p) => ["pick", p])]);
  done();
  take(mine, what, out);
}

// What falls due while time passes comes of its own accord.
at("spans").addEventListener("click", async (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const out = await send("/pass", [["span", button.dataset.span]]);
  complain(out.note || "");
  watch();
});

// fill opens a form.
function fill(form) {
  at("title").textContent = form.title;
  at("form").dataset.form = form.id;
  at("formnote").hidden = true;
  at("inputs").replaceChildren(...form.inputs.map((input, i) => {
    const id = "input" + i;
    const box = make(input.long ? "textarea" : "input", {
      id, "data-label": input.label, placeholder: input.hint, required: input.required, rows: input.long ? 4 : null,
      minlength: input.least || null, maxlength: input.most || null, autocomplete: "off",
    });
    box.value = input.value;
    return make("div", { class: "field" }, make("label", { for: id }, input.label, input.required ? make("span", { class: "aside" }, " needed") : ""), box);
  }));
  if (!at("form").open) at("form").showModal();
  const box = at("inputs").querySelector("input, textarea");
  if (box) box.focus();
}

at("sheetform").addEventListener("submit", async (event) => {
  event.preventDefault();
  const id = at("form").dataset.form, what = at("title").textContent, mine = opened();
  const fields = [["form", id], ...[...at("inputs").querySelectorAll("[data-label]")].map((box) => ["f." + box.dataset.label, box.value])];
  at("submit").disabled = true;
  const done = pend(name() + " filled in " + what);
  const out = await send("/submit", fields);
  done();
  at("submit").disabled = false;
  if (mine !== choice) {
    take(mine, what, out);
  } else if (out.lost) {
    at("formnote").textContent = out.note;
    at("formnote").hidden = false;
  } else {
    at("form").close();
    take(mine, what, out);
  }
});

at("close").addEventListener("click", () => at("form").close());
at("form").addEventListener("close", () => opened());

// ---- writing a request

async function list(version) {
  try {
    const response = await fetch("/requests");
    const got = await response.json();
    requests = got;
    listed = version;
    document.body.dataset.requests = requests.length;
  } catch {
    listed = "";
  }
}

function clear() {
  chosen = null;
  shut();
  at("request").value = "";
  at("fields").replaceChildren();
  at("others").replaceChildren();
  at("more").hidden = true;
  at("more").open = false;
  at("help").textContent = "";
  at("clear").hidden = true;
}

at("clear").addEventListener("click", () => {
  opened();
  complain("");
  clear();
  at("request").focus();
});

// choose opens the fields of a request.
function choose(request, values) {
  opened();
  clear();
  complain("");
  chosen = request;
  at("request").value = request.path;
  at("help").textContent = request.help;
  at("clear").hidden = false;
  for (const field of request.fields) {
    const given = values && values[field.name];
    const made = entry(field, given || "");
    at(field.required || given ? "fields" : "others").append(made);
  }
  const others = at("others").children.length;
  at("more").hidden = others === 0;
  at("more").querySelector("summary").textContent = others === 1 ? "One more field" : others + " more fields";
  if (at("fields").children.length === 0 && others <= 3) at("more").open = others > 0;
  const box = at("fields").querySelector("[data-field]");
  if (box) box.focus();
}

// read takes a line such as "/stock add variety: Ember count: 12" apart.
function read(text) {
  text = text.trim().replace(/\s+/g, " ");
  const request = requests.filter((r) => text === r.path || text.startsWith(r.path + " ")).sort((a, b) => b.path.length - a.path.length)[0];
  if (!request) return false;
  const names = request.fields.map((f) => f.name);
  const values = {};
  let last = "";
  for (const word of text.slice(request.path.length).split(" ").filter(Boolean)) {
    const head = /^([^:]+):(.*)$/.exec(word);
    if (head && names.includes(head[1])) {
      last = head[1];
      values[last] = head[2];
    } else if (last) {
      values[last] = (values[last] + " " + word).trim();
    } else {
      return false;
    }
  }
  choose(request, values);
  return true;
}

function entry(field, value) {
  const id = "field-" + field.name;
  let box, inside;
  const options = { yes: [["yes", "true"], ["no", "false"]] }[field.kind]
    || (field.kind === "member" && now.members.filter((m) => m.server === now.server).map((m) => [m.name, m.id]))
    || (field.kind === "channel" && now.places.map((p) => ["#" + p.name, p.key]))
    || (field.kind === "role" && (now.roles || []).map((r) => ["@" + r.name, r.key]))
    || (field.choices.length > 0 && field.choices.map((c) => [c.name, c.value]));
  if (options) {
    box = make("select", { id, "data-field": field.name }, make("option", { value: "" }, ""), ...options.map(([label, v]) => make("option", { value: v }, label)));
    const meant = options.find(([label, v]) => v === value || label === value || label === "@" + value);
    if (meant) box.value = meant[1];
    inside = box;
  } else {
    const number = field.kind === "whole" || field.kind === "number";
    box = make("input", {
      id, "data-field": field.name, type: field.kind === "file" ? "file" : "text", inputmode: number ? "decimal" : null,
      maxlength: field.longest, autocomplete: "off", spellcheck: "false",
    });
    if (field.kind !== "file") box.value = value;
    inside = make("div", { class: "offering" }, box);
    if (field.completes) offer(box, (text) => complete(field, text), (item) => {
      box.value = item.label;
      box.dataset.value = item.value;
    }, () => delete box.dataset.value);
  }
  const bounds = field.min !== null && field.max !== null ? " (" + field.min + " to " + field.max + ")" : "";
  return make("div", { class: "field" },
    make("label", { for: id }, field.name, field.required ? make("span", { class: "aside" }, " needed") : ""), inside,
    make("p", { class: "aside" }, field.help + bounds));
}

async function complete(field, text) {
  const fields = [["request", chosen.path], ["focus", field.name]];
  for (const box of document.querySelectorAll("#line [data-field]")) {
    const value = box.type === "file" ? "" : box.dataset.value || box.value;
    if (value && box.dataset.field !== field.name) fields.push(["f." + box.dataset.field, value]);
  }
  fields.push(["f." + field.name, text]);
  const out = await send("/complete", fields);
  return (out.choices || []).map((c) => ({ label: c.name, value: c.value }));
}

// offer puts a list of what may be meant under a box, and gives what shuts it. What was looked up for an earlier text is not shown.
function offer(box, look, pick, changed) {
  const items = make("ul", { role: "listbox", id: box.id + "-offers", hidden: true });
  box.after(items);
  box.setAttribute("role", "combobox");
  box.setAttribute("aria-controls", items.id);
  box.setAttribute("aria-expanded", "false");
  let turn = 0, offered = [], on = -1;
  const close = () => {
    turn++;
    items.hidden = true;
    box.setAttribute("aria-expanded", "false");
  };
  const mark = (n) => {
    on = n;
    [...items.children].forEach((c, i) => c.setAttribute("aria-selected", String(i === on)));
    if (items.children[on]) {
      items.children[on].scrollIntoView({ block: "nearest" });
      box.setAttribute("aria-activedescendant", items.children[on].id);
    } else box.removeAttribute("aria-activedescendant");
  };
  const chooseAt = (n) => {
    close();
    pick(offered[n]);
  };
  const refresh = async () => {
    const mine = ++turn;
    const found = await look(box.value);
    if (mine !== turn) return;
    offered = found;
    items.replaceChildren(...found.map((item, i) => {
      const made = make("li", { role: "option", id: items.id + i }, item.label, item.note ? make("span", { class: "aside" }, item.note) : "");
      made.addEventListener("mousedown", (event) => {
        event.preventDefault();
        chooseAt(i);
      });
      return made;
    }));
    items.dataset.text = box.value;
    items.hidden = found.length === 0;
    box.setAttribute("aria-expanded", String(found.length > 0));
    mark(-1);
  };
  box.addEventListener("input", () => {
    changed();
    refresh();
  });
  box.addEventListener("focus", refresh);
  box.addEventListener("blur", close);
  box.addEventListener("keydown", (event) => {
    if (items.hidden) return;
    if (event.key === "ArrowDown") mark(Math.min(on + 1, offered.length - 1));
    else if (event.key === "ArrowUp") mark(Math.max(on - 1, -1));
    else if (event.key === "Escape") close();
    else if ((event.key === "Enter" || event.key === "Tab") && on >= 0) chooseAt(on);
    else return;
    if (event.key !== "Tab") event.preventDefault();
  });
  return close;
}

const shut = offer(at("request"), async (text) => {
  const words = text.trim().toLowerCase();
  if (words === "" || (chosen && words === chosen.path)) return [];
  return requests.filter((r) => r.path.startsWith(words) || (words[0] !== "/" && (r.path + " " + r.help.toLowerCase()).includes(words)))
    .map((r) => ({ label: r.path, note: r.help, request: r }));
}, (item) => choose(item.request), () => {
  opened();
  if (chosen && at("request").value.trim() !== chosen.path) {
    const text = at("request").value;
    clear();
    at("request").value = text;
  }
});

// ---- who is there

at("newcomer").addEventListener("submit", async (event) => {
  event.preventDefault();
  const out = await send("/member", [["name", at("name").value]]);
  if (out.lost) {
    complain(out.note);
    return;
  }
  at("name").value = "";
  go(out.key, speaking.in);
});

at("manages").addEventListener("change", async (event) => {
  const out = await send("/right", [["manages", event.target.checked ? "yes" : "no"]]);
  complain(out.note || "");
});

watch();
