// The page of the bench: takes the server's pieces and puts them in place.
// All text arrives escaped by the server's templates or goes in as text.
"use strict";
(function () {
  const $ = (id) => document.getElementById(id);
  const policy = window.trustedTypes
    ? trustedTypes.createPolicy("putback", { createHTML: (s) => s })
    : { createHTML: (s) => s };
  const modeWords = { listening: "Listening", thinking: "Thinking", speaking: "Speaking", quiet: "Quiet", lost: "No contact" };

  // The bench's clock and the tablet's can differ by minutes; timers go by the bench's.
  let skew = Number(document.body.dataset.now) - Date.now();
  let lastWord = Date.now();
  let live = { mode: $("mode").dataset.mode };
  let connected = false;

  function setText(el, text) {
    if (el.textContent !== text) el.textContent = text;
  }

  function fit(text) {
    const n = [...text].length;
    return n <= 26 ? "s" : n <= 56 ? "m" : n <= 110 ? "l" : "xl";
  }

  function showMode(mode) {
    $("mode").dataset.mode = mode;
    setText($("modeword"), modeWords[mode] || "Starting");
  }

  let shownLevel = -1, toldLevel = 0;
  function showLevel(level) {
    const bars = $("level").children;
    const lit = Math.round(Math.max(0, Math.min(1, level || 0)) * bars.length);
    if (lit !== shownLevel) {
      for (let i = 0; i < bars.length; i++) bars[i].className = i < lit ? "on" : "";
      shownLevel = lit;
    }
    if (Date.now() - toldLevel > 2000) {
      toldLevel = Date.now();
      $("level").setAttribute("aria-valuenow", String(Math.round((level || 0) * 100)));
    }
  }

  function showLive(l) {
    live = l;
    showMode(l.mode);
    showLevel(l.level);
    setText($("heard"), l.heard || "…");
    setText($("understood"), l.understood || "");
    const reply = l.reply || "Nothing said yet.";
    setText($("reply"), reply);
    $("reply").dataset.fit = fit(reply);
  }

  function countdown(ms) {
    const over = ms < 0;
    const sec = over ? Math.trunc(-ms / 1000) : Math.ceil(ms / 1000);
    const two = (n) => String(n).padStart(2, "0");
    let s;
    if (sec < 3600) s = Math.trunc(sec / 60) + ":" + two(sec % 60);
    else if (sec < 48 * 3600) s = Math.trunc(sec / 3600) + " h " + two(Math.trunc(sec / 60) % 60);
    else s = Math.trunc(sec / 86400) + " days";
    return (over ? "+" : "") + s;
  }

  function tick() {
    const now = Date.now() + skew;
    for (const el of document.querySelectorAll("[data-due]")) {
      const due = Number(el.dataset.due);
      setText(el, countdown(due - now));
      const line = el.closest("[data-state]");
      const warn = Number(line.dataset.warn);
      const state = due <= now ? "over" : warn && warn <= now ? "soon" : "running";
      if (line.dataset.state !== state) line.dataset.state = state;
      const word = line.querySelector(".state");
      if (word) setText(word, state === "over" ? "time is up" : state === "soon" ? "soon" : "");
    }
  }

  function showPart(id, html) {
    const el = $("part-" + id);
    if (!el) return;
    const focused = el.contains(document.activeElement) ? document.activeElement.id : "";
    el.innerHTML = policy.createHTML(html);
    if (id === "now") document.body.dataset.wide = el.querySelector(".wide") ? "yes" : "no";
    if (focused && $(focused)) $(focused).focus();
  }

  // The stream. EventSource comes back by itself after a broken line, but not
  // after a refusal, and it does not notice a line gone dead: both are done here.
  let source = null, retry = 250;
  function connect() {
    if (source) source.close();
    source = new EventSource("/stream");
    source.addEventListener("hello", (e) => {
      const h = JSON.parse(e.data);
      if (h.build !== document.body.dataset.build) {
        location.reload();
        return;
      }
      skew = h.now - Date.now();
      retry = 250;
      heardFrom();
    });
    source.addEventListener("part", (e) => {
      const parts = JSON.parse(e.data);
      for (const id of Object.keys(parts)) showPart(id, parts[id]);
      tick();
      heardFrom();
    });
    source.addEventListener("live", (e) => {
      heardFrom();
      showLive(JSON.parse(e.data));
    });
    source.addEventListener("beat", heardFrom);
    source.onerror = () => {
      source.close();
      lose();
    };
  }

  function heardFrom() {
    lastWord = Date.now();
    if (!connected) {
      connected = true;
      document.body.dataset.contact = "yes";
      $("lost").hidden = true;
      showMode(live.mode);
    }
  }

  let again = 0;
  function lose() {
    connected = false;
    document.body.dataset.contact = "no";
    showMode("lost");
    showLevel(0);
    const at = new Date(lastWord).toTimeString().slice(0, 5);
    setText($("lost"), "No contact with the bench. What you see is from " + at + ".");
    $("lost").hidden = false;
    clearTimeout(again);
    again = setTimeout(attempt, retry);
    retry = Math.min(retry * 2, 2000);
  }

  async function attempt() {
    try {
      const r = await fetch("/alive", { cache: "no-store" });
      if (r.status === 401) {
        setText($("lost"), "This tablet needs a new link: the bench prints one when it starts.");
        again = setTimeout(attempt, 5000);
        return;
      }
      if (!r.ok) throw new Error(r.statusText);
    } catch (e) {
      lose();
      return;
    }
    connect();
  }

  setInterval(() => {
    tick();
    if (connected && Date.now() - lastWord > 12000) {
      source.close();
      lose();
    }
  }, 500);

  // What the page sends.
  async function send(path, body) {
    const r = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const answer = await r.json().catch(() => ({}));
    if (!r.ok) throw new Error(answer.error || "The bench did not take it (" + r.status + ").");
    return answer;
  }

  // The talk key: space, and what foot pedals send. A held key counts once.
  const pedal = /^(Space|PageDown|F1[3-9]|F2[0-4])$/;
  function talk() {
    if (!$("talk")) return;
    $("talk").classList.add("pressed");
    setTimeout(() => $("talk").classList.remove("pressed"), 400);
    send("/talk", {}).catch(() => {});
  }
  document.addEventListener("keydown", (e) => {
    if (!$("talk") || e.repeat || e.ctrlKey || e.altKey || e.metaKey || !pedal.test(e.code)) return;
    if (e.target.closest("input, textarea, select, button, a, dialog")) return;
    e.preventDefault();
    talk();
  });
  if ($("talk")) $("talk").addEventListener("click", talk);

  if ($("type")) {
    $("type").addEventListener("submit", async (e) => {
      e.preventDefault();
      const out = $("typedreply");
      try {
        const reply = await send("/type", { text: $("typed").value });
        setText(out, reply.text || "No answer to that.");
        out.className = "";
        $("typed").value = "";
      } catch (err) {
        setText(out, err.message);
        out.className = "failed";
      }
    });
  }

  let fixing = 0;
  document.addEventListener("click", (e) => {
    const b = e.target.closest("button.fix");
    if (!b) return;
    fixing = Number(b.dataset.seq);
    setText($("correctwas"), "Entry " + b.dataset.seq + ": " + (b.dataset.words || b.dataset.heard));
    $("correcttext").value = b.dataset.heard;
    $("correctfailed").hidden = true;
    $("correct").showModal();
    $("correcttext").select();
  });
  $("correctcancel").addEventListener("click", () => $("correct").close());
  $("correctform").addEventListener("submit", async (e) => {
    e.preventDefault();
    try {
      await send("/correct", { seq: fixing, text: $("correcttext").value });
      $("correct").close();
    } catch (err) {
      setText($("correctfailed"), err.message);
      $("correctfailed").hidden = false;
    }
  });

  // Dark shop or daylight: by the device's setting, or by this button.
  const themes = ["auto", "dark", "light"];
  let theme = "auto";
  try {
    theme = localStorage.getItem("putback-theme") || "auto";
  } catch (e) {
    // Storage is closed to us: the choice lasts until the page is left.
  }
  function showTheme() {
    if (!themes.includes(theme)) theme = "auto";
    if (theme === "auto") document.documentElement.removeAttribute("data-theme");
    else document.documentElement.dataset.theme = theme;
    setText($("themeword"), theme);
  }
  $("theme").addEventListener("click", () => {
    theme = themes[(themes.indexOf(theme) + 1) % themes.length];
    try {
      localStorage.setItem("putback-theme", theme);
    } catch (e) {
      // As above.
    }
    showTheme();
  });
  showTheme();

  // Keep the screen awake where the browser allows it.
  async function stayAwake() {
    if (!navigator.wakeLock || document.visibilityState !== "visible") return;
    try {
      await navigator.wakeLock.request("screen");
    } catch (e) {
      // Refused on battery or without a secure address: the device's own setting decides.
    }
  }
  document.addEventListener("visibilitychange", stayAwake);
  stayAwake();

  tick();
  connect();
})();
