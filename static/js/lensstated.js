// @ts-check
/**
 * What a photo's file states of its lens: one number, and nothing of who, where and with what. Pure.
 * Sources: ITU-T T.81 annex B (segments of a JPEG), TIFF 6.0 (directories), Exif 2.3 (CIPA DC-008) for tags
 * 34665 (its own directory), 41989 (focal length as on 35 mm film), 41988 (digital zoom), 37386 (focal length),
 * 41486 and 41488 (pixels of the sensor a unit), 40962 and 40963 (size of the picture).
 */

/** @typedef {{view: DataView, little: boolean}} Tiff */

const FRAME_MM = Math.hypot(36, 24);
const [LEAST_FILM_MM, MOST_FILM_MM] = [5, 2000];
const [SHORT, LONG, RATIO] = [3, 4, 5];
const MOST_ENTRIES = 1000;
/** Millimetres of the units of a resolution: inch and centimetre. @type {Record<number, number>} */
const UNIT_MM = { 2: 25.4, 3: 10 };
// Sizes that differ by more than this in their proportions are those of a picture that was cut.
const CUT = 0.01;

/**
 * The focal length in pixels of a picture of this size, as the file it came from states it.
 * @param {Uint8Array} file
 * @param {number} width
 * @param {number} height
 * @returns {number | null} null where nothing, nonsense or something doubtful is stated
 */
export function focalStated(file, width, height) {
  try {
    const tiff = tiffIn(file);
    const own = tiff && pointer(tiff, firstOf(tiff), 0x8769);
    const focal = tiff && own ? focalIn(tiff, own, width, height) : null;
    const film = focal ? focal * FRAME_MM / Math.hypot(width, height) : 0;
    return focal && film >= LEAST_FILM_MM && film <= MOST_FILM_MM ? focal : null;
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/**
 * @param {Tiff} tiff
 * @param {number} own
 * @param {number} width
 * @param {number} height
 */
function focalIn(tiff, own, width, height) {
  const read = (/** @type {number} */ tag) => valueOf(tiff, own, tag);
  const stated = [read(0xa002) ?? 0, read(0xa003) ?? 0];
  if (isCut(stated, [width, height])) return null;
  // Some makers count a digital zoom into the length on film and some do not.
  if ((read(0xa404) ?? 0) > 1) return null;
  const film = read(0xa405);
  if (film) return film / FRAME_MM * Math.hypot(width, height);
  const [length, pixels, unit] = [read(0x920a), read(0xa20e), UNIT_MM[read(0xa210) ?? 2]];
  if (!length || !pixels || !unit || !stated[0]) return null;
  return length * pixels / unit * Math.max(width, height) / Math.max(...stated);
}

/**
 * @param {number[]} stated
 * @param {number[]} found
 */
function isCut(stated, found) {
  if (!stated.every(Boolean)) return false;
  const [one, other] = [stated, found].map((sides) => Math.max(...sides) / Math.min(...sides));
  return Math.abs(one / other - 1) > CUT;
}

/**
 * @param {Uint8Array} file
 * @returns {Tiff | null}
 */
function tiffIn(file) {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  if (view.getUint16(0) !== 0xffd8) return null;
  for (let at = 2; view.getUint8(at) === 0xff; ) {
    const marker = view.getUint8(at + 1);
    if (marker === 0xff) { at += 1; continue; }
    if (marker === 0xda || marker === 0xd9) return null;
    const length = view.getUint16(at + 2);
    if (length < 2) return null;
    if (marker === 0xe1 && length > 16 && view.getUint32(at + 4) === 0x45786966 && view.getUint16(at + 8) === 0) {
      return headed(new DataView(file.buffer, file.byteOffset + at + 10, Math.min(length - 8, file.byteLength - at - 10)));
    }
    at += 2 + length;
  }
  return null;
}

/**
 * @param {DataView} view
 * @returns {Tiff | null}
 */
function headed(view) {
  const little = view.getUint16(0) === 0x4949;
  if (!little && view.getUint16(0) !== 0x4d4d) return null;
  return view.getUint16(2, little) === 42 ? { view, little } : null;
}

/** @param {Tiff} tiff */
function firstOf({ view, little }) {
  return view.getUint32(4, little);
}

/**
 * @param {Tiff} tiff
 * @param {number} directory
 * @param {number} tag
 */
function pointer(tiff, directory, tag) {
  const at = entryOf(tiff, directory, tag);
  return at !== null && tiff.view.getUint16(at + 2, tiff.little) === LONG ? tiff.view.getUint32(at + 8, tiff.little) : null;
}

/**
 * @param {Tiff} tiff
 * @param {number} directory
 * @param {number} tag
 */
function entryOf({ view, little }, directory, tag) {
  const count = Math.min(view.getUint16(directory, little), MOST_ENTRIES);
  for (let n = 0; n < count; n += 1) {
    const at = directory + 2 + 12 * n;
    if (view.getUint16(at, little) === tag) return at;
  }
  return null;
}

/**
 * The number under a tag: whole or a ratio, null where there is none that can be one.
 * @param {Tiff} tiff
 * @param {number} directory
 * @param {number} tag
 */
function valueOf(tiff, directory, tag) {
  const { view, little } = tiff;
  const at = entryOf(tiff, directory, tag);
  if (at === null) return null;
  const kind = view.getUint16(at + 2, little);
  if (kind === SHORT) return view.getUint16(at + 8, little);
  if (kind === LONG) return view.getUint32(at + 8, little);
  if (kind !== RATIO) return null;
  const where = view.getUint32(at + 8, little);
  const below = view.getUint32(where + 4, little);
  return below ? view.getUint32(where, little) / below : null;
}
