// @ts-check
/** Reads a QR code from a video frame: the browser's own reader where there is one, else ours. */

/**
 * @typedef {(video: HTMLVideoElement) => Promise<string | null>} Read
 * @typedef {{text: string, corners: {x: number, y: number}[]}} Label corners round from one of them, in pixels
 * @typedef {(picture: HTMLCanvasElement) => Promise<Label | null>} Find
 */

/** @returns {Promise<Read>} */
export async function reader() {
  const own = await ownDetector();
  if (own) return async (video) => (await own(video))?.rawValue ?? null;
  const decodeQR = await decoder();
  return (video) => Promise.resolve(decoded(video, decodeQR));
}

/**
 * What reads a label in a picture and tells where its corners are.
 * @returns {Promise<Find>}
 */
export async function finder() {
  const own = await ownDetector();
  if (own) {
    return async (picture) => {
      const seen = await own(picture);
      return seen ? { text: seen.rawValue, corners: seen.cornerPoints } : null;
    };
  }
  const decodeQR = await decoder();
  return (picture) => Promise.resolve(located(picture, decodeQR));
}

async function decoder() {
  return (await import(new URL("../vendor/qr/decode.js", import.meta.url).href)).decodeQR;
}

/** @returns {Promise<((source: CanvasImageSource) => Promise<any>) | null>} */
async function ownDetector() {
  const Detector = /** @type {any} */ (globalThis).BarcodeDetector;
  const formats = (await Detector?.getSupportedFormats?.().catch(() => [])) ?? [];
  if (!formats.includes("qr_code")) return null;
  const detector = new Detector({ formats: ["qr_code"] });
  return async (source) => (await detector.detect(source).catch(() => []))[0] ?? null;
}

/**
 * @param {HTMLCanvasElement} picture
 * @param {(image: ImageData, asked: object) => string} decodeQR
 * @returns {Label | null}
 */
function located(picture, decodeQR) {
  const image = picture.getContext("2d", { willReadFrequently: true })?.getImageData(0, 0, picture.width, picture.height);
  if (!image) return null;
  /** @type {{x: number, y: number}[]} */
  let corners = [];
  const pointsOnDetect = (/** @type {any} */ points) => { corners = points.bounds.map((/** @type {any} */ { x, y }) => ({ x, y })); };
  try {
    return { text: decodeQR(image, { pointsOnDetect }), corners };
  } catch {
    return null;
  }
}

const canvas = globalThis.document?.createElement("canvas");

/**
 * The middle square of the frame at two sizes, first as it is, then halved against noise.
 * @param {HTMLVideoElement} video
 * @param {(image: {width: number, height: number, data: Uint8ClampedArray}) => string} decodeQR
 */
function decoded(video, decodeQR) {
  const side = Math.min(video.videoWidth, video.videoHeight);
  const sizes = [Math.min(side, 720), Math.min(side, 360)];
  for (const size of sizes) {
    const text = attempt(video, side, size, decodeQR);
    if (text) return text;
  }
  return null;
}

/**
 * @param {HTMLVideoElement} video
 * @param {number} side
 * @param {number} size
 * @param {(image: {width: number, height: number, data: Uint8ClampedArray}) => string} decodeQR
 */
function attempt(video, side, size, decodeQR) {
  const pen = canvas?.getContext("2d", { willReadFrequently: true });
  if (!canvas || !pen || size === 0) return null;
  canvas.width = canvas.height = size;
  const [left, top] = [(video.videoWidth - side) / 2, (video.videoHeight - side) / 2];
  pen.drawImage(video, left, top, side, side, 0, 0, size, size);
  try {
    return decodeQR(pen.getImageData(0, 0, size, size));
  } catch {
    return null;
  }
}
