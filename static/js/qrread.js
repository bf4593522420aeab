// @ts-check
/** Reads a QR code from a video frame: the browser's own reader where there is one, else ours. */

/** @typedef {(video: HTMLVideoElement) => Promise<string | null>} Read */

/** @returns {Promise<Read>} */
export async function reader() {
  const own = await ownReader();
  if (own) return own;
  const { decodeQR } = await import(new URL("../vendor/qr/decode.js", import.meta.url).href);
  return (video) => Promise.resolve(decoded(video, decodeQR));
}

/** @returns {Promise<Read | null>} */
async function ownReader() {
  const Detector = /** @type {any} */ (globalThis).BarcodeDetector;
  const formats = (await Detector?.getSupportedFormats?.().catch(() => [])) ?? [];
  if (!formats.includes("qr_code")) return null;
  const detector = new Detector({ formats: ["qr_code"] });
  return async (video) => (await detector.detect(video).catch(() => []))[0]?.rawValue ?? null;
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
