// @ts-check
/** Makes a photo ready to be kept: upright, not larger than needed, without a word of who, where and with what. */

export const MOST_PIXELS = 16_000_000;
const THUMB_PX = 320;
const QUALITY = 0.92;

/**
 * The size a picture is kept at.
 * @param {number} width
 * @param {number} height
 * @param {number} most pixels
 */
export function shrunk(width, height, most = MOST_PIXELS) {
  const scale = Math.min(1, Math.sqrt(most / (width * height)));
  return { width: Math.max(1, Math.floor(width * scale)), height: Math.max(1, Math.floor(height * scale)) };
}

/**
 * A JPEG with its pixels and colour profile alone: what the bench PC keeps to the byte.
 * Source: ITU-T T.81 annex B (segments), T.871 (JFIF).
 * @param {Uint8Array} jpeg
 * @returns {Uint8Array}
 */
export function bare(jpeg) {
  /** @type {Uint8Array[]} */
  const kept = [jpeg.subarray(0, 2)];
  let at = 2;
  while (at + 4 <= jpeg.length && jpeg[at] === 0xff && jpeg[at + 1] !== 0xda) {
    const length = 2 + (jpeg[at + 2] << 8) + jpeg[at + 3];
    if (isKept(jpeg[at + 1], jpeg.subarray(at + 4, at + 18))) kept.push(segment(jpeg, at, length));
    at += length;
  }
  kept.push(jpeg.subarray(at));
  return joined(kept);
}

/**
 * @param {number} marker
 * @param {Uint8Array} start
 */
function isKept(marker, start) {
  const name = String.fromCharCode(...start);
  if (marker === 0xe0) return name.startsWith("JFIF\0");
  if (marker === 0xe2) return name.startsWith("ICC_PROFILE\0");
  if (marker === 0xee) return name.startsWith("Adobe");
  return !(marker >= 0xe0 && marker <= 0xef) && marker !== 0xfe;
}

/**
 * A segment as the bench PC keeps it: JFIF without its small preview.
 * @param {Uint8Array} jpeg
 * @param {number} at
 * @param {number} length
 */
function segment(jpeg, at, length) {
  if (jpeg[at + 1] !== 0xe0 || length <= 18) return jpeg.subarray(at, at + length);
  const head = jpeg.slice(at, at + 18);
  head.set([0, 16], 2);
  head.set([0, 0], 16);
  return head;
}

/** @param {Uint8Array[]} parts */
function joined(parts) {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/**
 * @param {Blob} file
 * @returns {Promise<{bytes: ArrayBuffer, thumb: ArrayBuffer, width: number, height: number}>}
 */
export async function readied(file) {
  const image = await createImageBitmap(file, { imageOrientation: "from-image" });
  const size = shrunk(image.width, image.height);
  const whole = await drawn(image, size.width, size.height);
  const small = shrunk(image.width, image.height, THUMB_PX * THUMB_PX);
  const thumb = await drawn(image, small.width, small.height);
  image.close();
  return { bytes: bytesOf(bare(whole)), thumb: bytesOf(thumb), ...size };
}

/** @param {Uint8Array} bytes */
function bytesOf(bytes) {
  return /** @type {ArrayBuffer} */ (bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
}

/**
 * @param {ImageBitmap} image
 * @param {number} width
 * @param {number} height
 */
async function drawn(image, width, height) {
  const canvas = Object.assign(document.createElement("canvas"), { width, height });
  canvas.getContext("2d")?.drawImage(image, 0, 0, width, height);
  const blob = await new Promise((/** @type {(made: Blob | null) => void} */ done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  if (!blob) throw new Error("no picture");
  return new Uint8Array(await blob.arrayBuffer());
}
