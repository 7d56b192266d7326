// Makes the pages quicker where scripts run; every page works without this file.

const TRAY = "drillkb.tray";
const MOST = 24;

const tray = {
  read() {
    try {
      const found = JSON.parse(localStorage.getItem(TRAY) ?? "[]");
      return Array.isArray(found) ? found.filter((name) => /^[a-z0-9-]{1,80}$/.test(name)).slice(0, MOST) : [];
    } catch {
      return [];
    }
  },
  write(names) {
    try {
      localStorage.setItem(TRAY, JSON.stringify(names));
    } catch {
      // a browser that keeps nothing still prints from the address
    }
  },
  address() {
    const names = this.read();
    return names.length ? `/tray?cards=${names.join(",")}` : "/tray";
  },
};

function showTray() {
  const names = tray.read();
  for (const link of document.querySelectorAll("[data-tray-link]")) link.href = tray.address();
  for (const count of document.querySelectorAll("[data-tray-count]")) {
    count.textContent = String(names.length);
    count.hidden = names.length === 0;
  }
  for (const button of document.querySelectorAll("[data-tray]")) {
    const inside = names.includes(button.dataset.tray);
    button.toggleAttribute("data-in", inside);
    button.setAttribute("role", "button");
    button.setAttribute("aria-pressed", String(inside));
    const what = button.querySelector(".unseen");
    button.firstChild.textContent = inside ? (document.body.classList.contains("page-tray") ? "Take out" : "In the tray") : "Put in tray";
    if (what) button.append(what);
  }
}

function toggle(name) {
  const names = tray.read();
  tray.write(names.includes(name) ? names.filter((other) => other !== name) : [...names, name].slice(-MOST));
  showTray();
  if (document.querySelector("[data-tray-page]")) location.replace(tray.address());
}

let asking = 0;

async function show(address, { push = true, focus = false } = {}) {
  const answer = document.getElementById("answer");
  const mine = ++asking;
  answer.setAttribute("aria-busy", "true");
  try {
    const reply = await fetch(address, { headers: { "x-part": "answer" } });
    if (!reply.ok) throw new Error(String(reply.status));
    const html = await reply.text();
    if (mine !== asking) return;
    answer.innerHTML = html;
    if (push) history.pushState({}, "", address);
    fill(new URL(address, location.href));
    showTray();
    if (focus) answer.scrollIntoView({ block: "start" });
  } catch {
    location.assign(address);
  } finally {
    if (mine === asking) answer.setAttribute("aria-busy", "false");
  }
}

function fill(url) {
  const form = document.querySelector("[data-ask]");
  for (const field of form.elements) {
    if (field.name) field.value = url.searchParams.get(field.name) ?? "";
  }
  document.title = url.searchParams.get("q") ? `${url.searchParams.get("q")} - drillkb` : "drillkb: what do you see?";
}

function address(form) {
  const kept = [...new FormData(form)].filter(([, value]) => String(value).trim() !== "");
  return `/?${new URLSearchParams(kept)}`;
}

const form = document.querySelector("[data-ask]");
if (form) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (!form.reportValidity()) return;
    document.activeElement?.blur();
    show(address(form), { focus: true });
  });
  form.querySelector("textarea").addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
      event.preventDefault();
      form.requestSubmit();
    }
  });
  for (const field of form.querySelectorAll("select, input")) {
    field.addEventListener("change", () => {
      if (form.q.value.trim() && field.checkValidity()) show(address(form));
    });
  }
  addEventListener("popstate", () => show(location.pathname + location.search, { push: false }));
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a, button");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  if (link.dataset.tray) {
    event.preventDefault();
    toggle(link.dataset.tray);
  } else if (form && (link.hasAttribute("data-example") || link.hasAttribute("data-back"))) {
    event.preventDefault();
    show(link.getAttribute("href"), { focus: link.hasAttribute("data-example") });
  } else if (link.hasAttribute("data-copy")) {
    copy(link);
  } else if (link.hasAttribute("data-print")) {
    print();
  }
});

document.addEventListener("keydown", (event) => {
  const button = event.target.closest?.("[data-tray]");
  if (button && event.key === " ") {
    event.preventDefault();
    toggle(button.dataset.tray);
  }
});

async function copy(button) {
  const shown = document.querySelector("[data-tray-page]")?.dataset.cards;
  const text = `${location.origin}${shown ? `/tray?cards=${shown}` : tray.address()}`;
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    // the clipboard is closed to pages without https: show the address to be copied by hand
    const field = document.createElement("input");
    field.value = text;
    field.readOnly = true;
    field.setAttribute("aria-label", "The link to this tray");
    button.replaceWith(field);
    field.focus();
    field.select();
  }
}

const page = document.querySelector("[data-tray-page]");
if (page) {
  const shown = page.dataset.cards ? page.dataset.cards.split(",") : [];
  if (shown.length && tray.read().length === 0) tray.write(shown);
  else if (!shown.length && tray.read().length) location.replace(tray.address());
}
// The filters of the tables come without names.
const NAMES = { _filter_column: "Column", _filter_op: "Comparison", _filter_value: "Value", _sort: "Sort by" };
for (const [start, name] of Object.entries(NAMES)) {
  for (const field of document.querySelectorAll(`[name^=${start}]:not([type=checkbox])`)) field.setAttribute("aria-label", name);
}
for (const button of document.querySelectorAll("[data-copy], [data-print]")) button.hidden = false;
showTray();

// While somebody watches the folder of the library, an edit shows in this page.
if (document.body.hasAttribute("data-watch")) {
  let known = null;
  setInterval(async () => {
    if (document.hidden) return;
    try {
      const now = await (await fetch("/generation")).text();
      if (known !== null && now !== known) location.reload();
      known = now;
    } catch {
      // the pages have stopped; they will be asked again
    }
  }, 300);
}
