import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { focalStated } from "../../static/js/lensstated.js";

// Files of tests/pictures/lensfiles.py, written by Pillow.
const { files, size_px } = JSON.parse(readFileSync(new URL("lensfiles.json", import.meta.url), "utf8"));
const [wide, high] = size_px;
const bytesOf = (one) => new Uint8Array(Buffer.from(one.file, "base64"));
const whole = bytesOf(files[0]);
const told = files[0].focal_px;

for (const one of files) {
  test(`what a file states of its lens is read: ${one.name}`, () => {
    const found = focalStated(bytesOf(one), wide, high);

    if (one.focal_px === null) assert.equal(found, null);
    else assert.ok(Math.abs(found - one.focal_px) < 1e-5, `${found}`);
  });
}

test("a picture shrunk or turned upright keeps its lens as a share of its diagonal", () => {
  assert.ok(Math.abs(focalStated(whole, wide / 2, high / 2) - told / 2) < 1e-5);
  assert.ok(Math.abs(focalStated(whole, high, wide) - told) < 1e-5);
});

test("a picture that was cut after it was taken tells nothing of its lens", () => {
  const sized = bytesOf(files.find((one) => one.name === "size in pixels"));

  assert.equal(focalStated(sized, 36, 36), null);
  assert.ok(focalStated(sized, 36, 48));
});

test("a file cut anywhere tells the lens or nothing, and never fails", () => {
  for (let length = 0; length < 400; length += 1) {
    const found = focalStated(whole.slice(0, length), wide, high);
    assert.ok(found === null || Math.abs(found - told) < 1e-5, `${length}: ${found}`);
  }
});

test("a file with any byte of its head changed never fails, and tells no lens beyond reason", () => {
  for (let at = 0; at < 300; at += 1) {
    for (const value of [0, 1, 0x7f, 0xff]) {
      const changed = whole.slice();
      changed[at] = value;
      const found = focalStated(changed, wide, high);
      const film = (found ?? told) / Math.hypot(wide, high) * Math.hypot(36, 24);
      assert.ok(film >= 5 && film <= 2000, `${at}: ${found}`);
    }
  }
});

test("bytes seen through a window of a larger buffer are read in their place", () => {
  const larger = new Uint8Array(whole.length + 100).fill(0xff);
  larger.set(whole, 60);

  assert.ok(Math.abs(focalStated(larger.subarray(60, 60 + whole.length), wide, high) - told) < 1e-5);
});

test("other files state nothing", () => {
  for (const other of [[], [0xff], [0xff, 0xd8], [0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10], new Array(500).fill(0xff)]) {
    assert.equal(focalStated(new Uint8Array(other), wide, high), null);
  }
});
