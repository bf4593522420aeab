// @ts-check
/** Places on a photo, put by finger and arrow keys on the whole picture and on a closer view of it. */
import { fresh } from "./found.js";
import { CORNERS, MARKS, cameAfter, nearest, nudged, onPicture } from "./photospots.js";

/** @typedef {import("./photospots.js").At} At */
const REACH_CSS = 28;
const TAP_CSS = 6;
/** @param {Element | Document} root */
export function bindPhotomarks(root) {
  for (const form of fresh(root, "[data-photomarks]")) new Marking(/** @type {HTMLFormElement} */ (form)).bind();
}

class Marking {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.size = { x: Number(form.dataset.wide), y: Number(form.dataset.high) };
    this.step = Number(form.dataset.step);
    this.around = Number(form.dataset.around);
    this.stage = /** @type {SVGSVGElement} */ (form.querySelector("[data-stage]"));
    this.close = /** @type {SVGSVGElement} */ (form.querySelector("[data-close]"));
  }

  bind() {
    for (const part of this.form.querySelectorAll("[data-script]")) part.removeAttribute("hidden");
    this.byPointer(this.stage, (event) => this.takenUp(event), (event) => this.put(this.active(), this.pictureAt(event)));
    this.byPointer(this.close, () => this.place(this.active()) !== null, (event, moved) => this.shift(moved));
    for (const view of [this.stage, this.close]) view.addEventListener("keydown", (event) => this.byKey(event));
    for (const key of this.form.querySelectorAll("[data-nudge]")) {
      key.addEventListener("click", () => this.nudge(/** @type {HTMLElement} */ (key).dataset.nudge ?? "", this.step));
    }
    for (const key of this.form.querySelectorAll("[data-names]")) {
      key.addEventListener("click", (event) => this.rename(event, /** @type {HTMLElement} */ (key).dataset.names ?? ""));
    }
    this.form.addEventListener("input", () => this.draw());
    this.form.addEventListener("change", () => this.draw());
    new ResizeObserver(() => this.draw()).observe(this.stage);
    this.draw();
  }

  active() {
    const chosen = /** @type {HTMLInputElement | null} */ (this.form.querySelector("[name=active]:checked"));
    return chosen?.value ?? "a";
  }

  /** @param {string} spot */
  choose(spot) {
    const radio = /** @type {HTMLInputElement | null} */ (this.form.querySelector(`[name=active][value=${spot}]`));
    if (radio) radio.checked = true;
    const fold = radio?.closest("details");
    if (fold) fold.open = true;
  }

  /**
   * @param {string} spot
   * @param {string} axis
   */
  field(spot, axis) {
    return /** @type {HTMLInputElement} */ (this.form.querySelector(`[data-${axis}=${spot}]`));
  }

  /**
   * @param {string} spot
   * @returns {At | null}
   */
  place(spot) {
    const [x, y] = ["x", "y"].map((axis) => this.field(spot, axis).value.trim().replace(",", "."));
    return x && y && Number.isFinite(Number(x)) && Number.isFinite(Number(y)) ? { x: Number(x), y: Number(y) } : null;
  }

  placed() {
    /** @type {Map<string, At>} */
    const found = new Map();
    for (const spot of [...CORNERS, ...MARKS]) {
      const at = this.place(spot);
      if (at) found.set(spot, at);
    }
    return found;
  }

  /**
   * @param {string} spot
   * @param {At} at
   * @param {boolean} [tapped]
   */
  put(spot, at, tapped = false) {
    const kept = onPicture(at, this.size);
    for (const axis of /** @type {("x" | "y")[]} */ (["x", "y"])) this.field(spot, axis).value = kept[axis].toFixed(2);
    const came = /** @type {HTMLInputElement} */ (this.form.querySelector(`[data-came=${MARKS.includes(spot) ? spot : "label"}]`));
    came.value = MARKS.includes(spot) ? cameAfter(came.value, tapped) : "placed";
    this.field(spot, "x").dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** @param {PointerEvent} event */
  pictureAt(event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.stage.getScreenCTM()?.inverse());
    return { x, y };
  }

  /**
   * How many pixels of the picture a pixel of the screen is.
   * @param {SVGSVGElement} view
   */
  scale(view) {
    return 1 / (view.getScreenCTM()?.a || 1);
  }

  /**
   * A finger on a letter takes it up; elsewhere it is a tap, which places what is chosen.
   * @param {PointerEvent} event
   */
  takenUp(event) {
    const near = nearest(this.placed(), this.pictureAt(event), REACH_CSS * this.scale(this.stage));
    if (near) this.choose(near);
    this.draw();
    return Boolean(near);
  }

  /**
   * @param {SVGSVGElement} view
   * @param {(event: PointerEvent) => boolean} takes
   * @param {(event: PointerEvent, moved: At) => void} drag
   */
  byPointer(view, takes, drag) {
    /** @type {{last: PointerEvent, taken: boolean, far: number} | null} */
    let held = null;
    view.addEventListener("pointerdown", (event) => {
      held = { last: event, taken: takes(event), far: 0 };
      if (held.taken) view.setPointerCapture(event.pointerId);
    });
    // Parts of a drawing know no touch-action of their own: what is taken up must not scroll the page.
    view.addEventListener("touchstart", (event) => { if (held?.taken) event.preventDefault(); }, { passive: false });
    view.addEventListener("pointermove", (event) => {
      if (!held) return;
      const moved = { x: event.clientX - held.last.clientX, y: event.clientY - held.last.clientY };
      held.far += Math.hypot(moved.x, moved.y);
      held.last = event;
      if (held.taken && held.far > TAP_CSS) drag(event, moved);
    });
    view.addEventListener("pointerup", (event) => {
      if (held && !held.taken && held.far <= TAP_CSS && view === this.stage) this.tap(this.pictureAt(event));
      held = null;
    });
    view.addEventListener("pointercancel", () => { held = null; });
  }

  /** @param {At} at */
  async tap(at) {
    const spot = this.active();
    this.put(spot, at, true);
    const there = this.field(spot, "x").value;
    if (!MARKS.includes(spot)) return this.onward();
    const asked = new URLSearchParams(/** @type {any} */ (new FormData(this.form)));
    for (const name of ["csrf_token", "entry_id", "next"]) asked.delete(name);
    this.onward();
    const answer = await fetch(`${this.form.dataset.near}?${asked}`).catch(() => null);
    const found = answer?.ok ? await answer.json() : {};
    if ("x_px" in found && this.field(spot, "x").value === there) this.put(spot, { x: found.x_px, y: found.y_px }, true);
  }

  /** Go on to the next spot without a place; once all have one, stay. */
  onward() {
    const placed = this.placed();
    const next = [...MARKS, ...CORNERS].find((spot) => !placed.has(spot));
    if (next) this.choose(next);
    this.draw();
  }

  /**
   * The closer view is a sheet under a cross: it follows the finger, so the place moves the other way.
   * @param {At} moved
   */
  shift(moved) {
    const at = this.place(this.active());
    const scale = this.scale(this.close);
    if (at) this.put(this.active(), { x: at.x - moved.x * scale, y: at.y - moved.y * scale });
  }

  /** @param {KeyboardEvent} event */
  byKey(event) {
    if (this.nudge(event.key, this.step * (event.shiftKey ? 10 : 1))) event.preventDefault();
  }

  /**
   * @param {string} key
   * @param {number} step
   */
  nudge(key, step) {
    const from = this.place(this.active()) ?? { x: this.size.x / 2, y: this.size.y / 2 };
    const to = nudged(key, from, step, this.size);
    if (to) this.put(this.active(), to);
    return to !== null;
  }

  /**
   * @param {Event} event
   * @param {string} order
   */
  rename(event, order) {
    event.preventDefault();
    const before = order.split(" ").map((spot) => ["x", "y", "came"].map((part) => this.field(spot, part).value));
    MARKS.forEach((spot, i) => ["x", "y", "came"].forEach((part, k) => { this.field(spot, part).value = before[i][k]; }));
    this.field("a", "x").dispatchEvent(new Event("input", { bubbles: true }));
  }

  draw() {
    const placed = this.placed();
    const chosen = this.active();
    const scale = this.scale(this.stage);
    for (const part of this.stage.querySelectorAll("[data-spot]")) {
      const spot = /** @type {SVGElement} */ (part).dataset.spot ?? "";
      const at = placed.get(spot);
      part.setAttribute("visibility", at ? "visible" : "hidden");
      if (at) part.setAttribute("transform", `translate(${at.x} ${at.y})`);
      part.toggleAttribute("data-active", spot === chosen);
    }
    for (const part of this.stage.querySelectorAll("[data-sized]")) part.setAttribute("transform", `scale(${scale})`);
    const corners = CORNERS.flatMap((spot) => placed.get(spot) ?? []).map((at) => `${at.x},${at.y}`).join(" ");
    for (const part of this.stage.querySelectorAll("[data-outline]")) part.setAttribute("points", corners);
    this.drawClose(placed.get(chosen));
  }

  /** @param {At | undefined} at */
  drawClose(at) {
    const middle = at ?? { x: this.size.x / 2, y: this.size.y / 2 };
    const r = this.around;
    this.close.setAttribute("viewBox", `${middle.x - r} ${middle.y - r} ${2 * r} ${2 * r}`);
    this.close.querySelector("[data-cross]")?.setAttribute("transform", `translate(${middle.x} ${middle.y}) scale(${this.scale(this.close)})`);
    this.close.toggleAttribute("data-empty", !at);
  }
}
