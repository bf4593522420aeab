import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { codeFrom, isCode, plainCode } from "../../static/js/codes.js";
import { unsealedAll } from "../../static/js/newchain.js";
import { overlaid, recordHeld, settingNow } from "../../static/js/overlay.js";
import { wrongWith } from "../../static/js/opening.js";
import { digitsIn } from "../../static/js/pair.js";
import { bare, MOST_PIXELS, shrunk } from "../../static/js/picture.js";
import { fits, ROOM_FOR_STATEMENTS } from "../../static/js/photoqueue.js";
import { PIECE, sendPhotos } from "../../static/js/photodrain.js";
import { personAt } from "../../static/js/seated.js";
import { mayReload } from "../../static/js/update.js";
import { Bench, Network } from "./standin.mjs";
import { Tablet } from "./tablet.mjs";

const stating = JSON.parse(readFileSync(new URL("vectors.json", import.meta.url), "utf8"));

test("a one-time code is taken from the address, and nothing else is", () => {
  assert.equal(digitsIn("#12345678"), "12345678");
  assert.equal(digitsIn("#1234567"), "");
  assert.equal(digitsIn("#12345678<script>"), "");
});

test("a label code is read from an address or as typed, and its check sign holds", () => {
  // 22QY4JDS: a code of this project's own making (core.ids).
  assert.equal(plainCode("http://bench/C/22QY4JDS"), "22QY4JDS");
  assert.equal(plainCode("22qy-4jds"), "22QY4JDS");
  assert.equal(isCode("22QY4JDS"), true);
  assert.equal(isCode("22QY4JSD"), false);
  assert.equal(isCode("22QY4JD"), false);
});

test("a photo over 16 million pixels is made smaller in proportion", () => {
  const { width, height } = shrunk(8000, 6000);

  assert.ok(width * height <= MOST_PIXELS);
  assert.ok(Math.abs(width / height - 4 / 3) < 0.001);
  assert.deepEqual(shrunk(4000, 3000), { width: 4000, height: 3000 });
});

test("a JPEG keeps pixels and colour profile and loses who, where and with what", () => {
  const segment = (marker, text) => [0xff, marker, 0, text.length + 2, ...Buffer.from(text, "latin1")];
  const jfif = segment(0xe0, "JFIF\0\x01\x01\0\0\x01\0\x01\0\0");
  const icc = segment(0xe2, "ICC_PROFILE\0..");
  const pixels = [...segment(0xdb, "table"), 0xff, 0xda, 0, 2, 1, 2, 3, 0xff, 0xd9];
  const jpeg = Uint8Array.from([0xff, 0xd8, ...jfif, ...segment(0xe1, "Exif\0\0place"), ...icc, ...segment(0xfe, "made by"), ...pixels]);

  assert.deepEqual([...bare(jpeg)], [0xff, 0xd8, ...jfif, ...icc, ...pixels]);
});

test("photos stop while there is still room for statements", () => {
  assert.equal(fits({ quota: ROOM_FOR_STATEMENTS + 100, usage: 0 }, 100), true);
  assert.equal(fits({ quota: ROOM_FOR_STATEMENTS + 100, usage: 1 }, 100), false);
  assert.equal(fits({}, 1e9), true);
});

test("the page is loaded anew only where nothing is open, typed or on its way", () => {
  assert.equal(mayReload({ touched: false, dialog: false, busy: false }), true);
  for (const one of ["touched", "dialog", "busy"]) {
    assert.equal(mayReload({ touched: false, dialog: false, busy: false, [one]: true }), false);
  }
});

function photoScene(script) {
  const tablet = new Tablet(new Network(new Bench()));
  const bytes = new Uint8Array(PIECE * 2 + 10).fill(7).buffer;
  tablet.store.rooms.photos = new Map([["aa", { sha: "aa", bytes, thumb: new ArrayBuffer(1), at: tablet.ms }]]);
  const asked = [];
  let held = 0;
  const ask = async (_, { method, body, headers }) => {
    const act = script.shift() ?? "ok";
    if (act === "drop") throw new TypeError("unreachable");
    const answer = (status, json = {}) => ({ status, headers: new Map([["X-Tiltbook-Held", String(held)]]), json: async () => json });
    if (method === "HEAD") return answer(404);
    asked.push(headers["Content-Range"]);
    const first = Number(headers["Content-Range"].split(" ")[1].split("-")[0]);
    if (typeof act === "number") return answer(act, { code: "no_room", words: "full" });
    if (first !== held) return answer(409, { code: "other_offset", held });
    held += body.byteLength;
    if (act === "lose") throw new TypeError("answer lost");
    return held === bytes.byteLength ? answer(200) : answer(202, { held });
  };
  return { tablet, ask, asked, held: () => held, total: bytes.byteLength };
}

test("a photo goes in pieces and is kept here until the bench PC has it whole", async () => {
  const { tablet, ask, asked, held, total } = photoScene([]);

  assert.equal(await sendPhotos(tablet.here, ask), "done");

  assert.equal(asked.length, 3);
  assert.equal(held(), total);
  assert.equal((await tablet.store.get("photos", "aa")).bytes, undefined);
});

test("a photo goes on where it was cut off", async () => {
  const { tablet, ask, asked, held, total } = photoScene(["ok", "lose"]);

  assert.equal(await sendPhotos(tablet.here, ask), "again");
  assert.ok((await tablet.store.get("photos", "aa")).bytes);
  assert.equal(await sendPhotos(tablet.here, ask), "done");

  assert.equal(held(), total);
  assert.equal(asked[1].startsWith(`bytes ${PIECE}-`), true);
});

test("a photo for which the bench PC has no room stays here", async () => {
  const { tablet, ask } = photoScene(["ok", 507]);

  assert.equal(await sendPhotos(tablet.here, ask), "again");

  assert.ok((await tablet.store.get("photos", "aa")).bytes);
  assert.equal((await tablet.store.get("meta", "state")).words, "full");
});

const known = { setting: "s1", tripod: null, fourth: null, brings_back: null, disturbed: [], standing: {
  "undercut|35|MB": { ids: ["u1"], kind: "undercut_read", lead: null },
  "line|34B": { ids: ["l1"], kind: "survey_lines_drawn", lead: true },
  "line|34L": { ids: ["l1"], kind: "survey_lines_drawn", lead: true },
  interferences: { ids: ["n1"], kind: "interferences_looked", lead: null },
} };
const said = (kind, pairs, setting = "s1", rows = []) => overlaid(known, rows, stating, { kind, pairs, setting });
const undercut = [["tooth", "35"], ["surface", "MB"], ["gauge_mm", "0.5"], ["contact", "both"]];

test("a reading made anew corrects what stands at the same setting, and nothing at another", () => {
  assert.deepEqual(said("undercut_read", undercut).corrects, ["u1"]);
  assert.deepEqual(said("undercut_read", undercut, "s2").corrects, []);
});

test("what was received is corrected at any setting, and what a taken-back correction corrected stands again", () => {
  const page = { ...known, lasting: { cast: { ids: ["c1"], kind: "cast_received", lead: null } } };
  const now = (rows, setting = null) => overlaid(page, rows, stating, { kind: "cast_received", pairs: [["soundness", "sound"]], setting }).corrects;
  const waits = { id: "w1", kind: "cast_received", setting: null, body: { soundness: "chipped", remark: "" }, supersedes: ["c1"] };
  const back = { id: "w2", kind: "withdrawn", setting: null, body: { entry: "w1" }, supersedes: [] };

  const first = { ...back, body: { entry: "c1" } };

  assert.deepEqual([now([]), now([], "s2"), now([waits]), now([waits, back]), now([first])], [["c1"], ["c1"], ["w1"], ["c1"], []]);
});

test("a reading corrects the one that waits here, not the one that was corrected by it", () => {
  const body = { tooth: 35, surface: "MB", gauge_mm: 0.25, contact: "none", drop_mm: null, gauge: "", marked: false };
  const waits = { id: "w1", kind: "undercut_read", setting: "s1", body, supersedes: ["u1"] };

  assert.deepEqual(said("undercut_read", undercut, "s1", [waits]).corrects, ["w1"]);
});

test("lines drawn anew say again the others of the entry they correct", () => {
  const { corrects, kept } = said("survey_lines_drawn", [["sites", "34B"], ["lead_at_gingival", "no"]]);

  assert.deepEqual(corrects, ["l1"]);
  assert.deepEqual(kept, [{ sites: ["34L"], lead_at_gingival: true }]);
});

test("an interference noted corrects the word that none was seen", () => {
  assert.deepEqual(said("interference_noted", [["place", "palate"], ["nature", "torus"]]).corrects, ["n1"]);
});

test("the setting of now is the last one taken here", () => {
  assert.equal(settingNow(known, [{ id: "m2", kind: "mounted" }, { id: "x", kind: "undercut_read" }]), "m2");
  assert.equal(settingNow(known, []), "s1");
});

test("after a key was revoked everything on its way is stated in a new chain", async () => {
  const bench = new Bench();
  const tablet = new Tablet(new Network(bench, ["drop"]));
  const made = await tablet.sayMany(3);
  await tablet.drain();

  await unsealedAll(tablet.store);
  await tablet.store.write([["put", "meta", { name: "device", device: "tablet-000000000002", epoch: "e1" }]]);
  await tablet.drain();

  assert.deepEqual(bench.log.map((one) => [one.id, one.device, one.seq]),
    made.map((one, n) => [one.id, "tablet-000000000002", n + 1]));
});

test("a re-mount is read against the marks made last and answers the disturbances it was made after", () => {
  const page = { ...known, tripod: "t1", fourth: "f1", brings_back: "s1", disturbed: ["d1", "d2"] };
  const rows = [
    { id: "d3", kind: "disturbed", setting: null, body: { what: "arm_moved" }, supersedes: [] },
    { id: "w1", kind: "withdrawn", setting: null, body: { entry: "d2" }, supersedes: [] },
  ];
  const marked = { id: "t2", kind: "tripod_marked", setting: "s2", body: {}, supersedes: [] };

  assert.deepEqual(recordHeld(page, rows), { tripod: "t1", fourth: "f1", brings_back: "s1", disturbed: ["d1", "d3"] });
  assert.deepEqual(recordHeld(page, [...rows, marked]), { tripod: "t2", fourth: null, brings_back: "s2", disturbed: ["d1", "d3"] });
});

test("a code made on the tablet is a label code, whatever chance gives", () => {
  for (let n = 0; n < 256; n += 1) assert.ok(isCode(codeFrom(new Uint8Array(14).map((_, place) => (n * 7 + place * n) % 256))));
});

test("a case number of another shape is turned down, and one that may be a name asks", () => {
  const shape = "[0-9]{2}-[0-9]{4}[A-Z]?";

  assert.equal(wrongWith("26-0101", shape, false), "");
  assert.equal(wrongWith("26-101", shape, false), "other_shape");
  assert.equal(wrongWith("Gomez", ".*", false), "name_like");
  assert.equal(wrongWith("Gomez", ".*", true), "");
  assert.equal(wrongWith("26-0101", "(", false), "");
});

test("a seat lasts from touch to touch, and no longer than the lab lets it", () => {
  const seated = { person: "TEC", seconds: 600, at: 1_000_000 };

  assert.equal(personAt(seated, 1_599_999), "TEC");
  assert.equal(personAt(seated, 1_600_000), "");
  assert.equal(personAt(seated, 999_999), "");
  assert.equal(personAt(null, 1_000_000), "");
});
