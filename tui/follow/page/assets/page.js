"use strict";
// Shows what the server says. Nothing is sent but questions for pictures.

const at = (id) => document.getElementById(id);
const body = document.body;
const view = at("view"), picture = at("picture"), region = at("region");
const QUIET_MS = 25000; // the server gives a sign of life every 10 s
const AGAIN_MS = 5000;

let shown = null; // what the server said last
let close = false; // the region at 1:1, or the whole picture
let asked = ""; // the picture on show, or on its way
let quiet = 0;

function connect() {
  const news = new EventSource("events");
  news.onopen = alive;
  news.addEventListener("alive", alive);
  news.onmessage = (message) => {
    alive();
    shown = JSON.parse(message.data);
    paint();
  };
  news.onerror = () => {
    lost();
    if (news.readyState === EventSource.CLOSED) setTimeout(connect, AGAIN_MS);
  };
}

function alive() {
  clearTimeout(quiet);
  quiet = setTimeout(lost, QUIET_MS);
  if (body.classList.contains("lost") && shown) paint();
}

function lost() {
  say("NOT CONNECTED", "stop", "The computer doesn't answer, or lets no more look on. Served anew, the page has a new address to scan.");
  body.classList.add("lost");
}

function say(large, tone, sentence) {
  body.className = `${tone}${close ? " close" : ""}`;
  if (at("large").textContent !== large) at("large").textContent = large;
  at("sentence").textContent = sentence;
}

function paint() {
  say(shown.large, shown.tone, shown.sentence);
  at("progress").textContent = shown.progress;
  if (!shown.frame) { // a frame is coming in: the region at 1:1 stays what is wanted of the next picture
    asked = "";
    gone(shown.progress.startsWith("frame ") ? "Its files are coming in." : "");
    return;
  }
  fetchPicture();
}

async function fetchPicture() {
  const path = `${close ? "region" : "picture"}/${shown.frame}`;
  const wanted = `${path} ${shown.version}`;
  if (wanted === asked) return place();
  if (!asked.endsWith(`${shown.frame} ${shown.version}`)) gone(""); // never a picture under another frame's word
  asked = wanted;
  try {
    const answer = await fetch(path, { cache: "no-store" });
    if (wanted !== asked) return;
    if (!answer.ok) throw new Error(await answer.text());
    const caption = answer.headers.get("X-Caption") || "";
    const made = URL.createObjectURL(await answer.blob());
    if (wanted !== asked) return URL.revokeObjectURL(made);
    const before = picture.src;
    picture.src = made;
    await picture.decode();
    if (before) URL.revokeObjectURL(before);
    if (wanted !== asked) return;
    at("caption").textContent = caption;
    at("instead").textContent = "";
    picture.hidden = region.hidden = false;
    place();
    if (close) view.scrollTo((view.scrollWidth - view.clientWidth) / 2, (view.scrollHeight - view.clientHeight) / 2);
  } catch (error) {
    if (wanted !== asked) return;
    gone(error.message);
    asked = "";
  }
}

function gone(instead) {
  picture.hidden = region.hidden = true;
  at("caption").textContent = "";
  at("instead").textContent = instead;
}

// The whole picture as large as there is room, with the region's frame; or one pixel of it a pixel of the screen.
function place() {
  if (picture.hidden) return;
  const scale = close
    ? 1 / window.devicePixelRatio
    : Math.min(view.clientWidth / picture.naturalWidth, view.clientHeight / picture.naturalHeight);
  picture.style.width = `${picture.naturalWidth * scale}px`;
  picture.style.height = `${picture.naturalHeight * scale}px`;
  const [left, top, width, height] = shown.region.map((side) => `${100 * side}%`);
  Object.assign(region.style, { left, top, width, height });
  region.setAttribute("aria-label", close ? "Show the whole picture" : "Show the region at 1:1");
}

function turn() {
  if (!shown || !shown.frame) return;
  close = !close;
  body.classList.toggle("close", close);
  picture.hidden = region.hidden = true;
  fetchPicture();
}

region.addEventListener("click", turn);
window.addEventListener("resize", place);
window.addEventListener("keydown", (event) => { if (event.key === "Escape" && close) turn(); });
connect();
