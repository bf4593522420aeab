// @ts-check
/** Takes a photo: with the camera's own shutter where the browser has one, else a frame at full size. */

const PATIENCE_MS = 5000;
const QUALITY = 0.95;

/** @param {MediaStream} stream */
function captureOf(stream) {
  const Capture = /** @type {any} */ (globalThis).ImageCapture;
  return Capture ? new Capture(stream.getVideoTracks()[0]) : null;
}

/**
 * How many pixels of the photo go to one of the live picture.
 * @param {MediaStream} stream
 * @param {HTMLVideoElement} video
 * @returns {Promise<number>} 1 where nobody can tell
 */
export async function stillScale(stream, video) {
  const able = await captureOf(stream)?.getPhotoCapabilities?.().catch(() => null);
  const widest = Math.max(able?.imageWidth?.max ?? 0, able?.imageHeight?.max ?? 0);
  return Math.min(3, Math.max(1, widest / Math.max(video.videoWidth, video.videoHeight, 1)));
}

/**
 * @param {MediaStream} stream
 * @param {HTMLVideoElement} video
 * @returns {Promise<Blob | null>}
 */
export async function stillOf(stream, video) {
  const late = new Promise((/** @type {(none: null) => void} */ go) => { setTimeout(() => go(null), PATIENCE_MS); });
  const taken = captureOf(stream)?.takePhoto?.().catch(() => null);
  const photo = taken ? await Promise.race([taken, late]) : null;
  return photo?.size && photo.type === "image/jpeg" ? photo : frameOf(video);
}

/**
 * @param {HTMLVideoElement} video
 * @returns {Promise<Blob | null>}
 */
function frameOf(video) {
  const canvas = Object.assign(document.createElement("canvas"), { width: video.videoWidth, height: video.videoHeight });
  canvas.getContext("2d")?.drawImage(video, 0, 0);
  return new Promise((done) => { canvas.toBlob(done, "image/jpeg", QUALITY); });
}
