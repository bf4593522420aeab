// @ts-check
/** Tells the pixels of two pencils from stone, whatever the light: by their hue against the stone around. Pure. */

/**
 * @typedef {{data: ArrayLike<number>, width: number, height: number}} Frame red, green, blue, alpha of each pixel
 * @typedef {{mark: number[], ring: number[]}} Colours red, green, blue from 0 to 255
 */

export const RING = 1;
export const MARK = 2;
const BLOCK = 16;
// How far off the stone's own hue a pixel is, against the stone's brightness: paler is stone, not pencil.
const FAINTEST = 0.07;
// In the dark the noise of the camera has hues of its own: this many of 255 at least.
const LEAST_HUE = 14;
const ALIKE = 0.8;
const FAR_OFF = 0.2;
// A stroke of graphite has no hue: it is told by how much darker than the stone it is.
const DARK = 0.62;

/**
 * The brightness and hue of the stone around: means of blocks and their neighbours, then once more without the
 * pixels that lie far off, so that pencil does not tint what it is held against.
 * @param {Frame} frame
 */
function groundOf(frame) {
  const wide = Math.ceil(frame.width / BLOCK);
  return { smooth: meansOf(frame, wide, meansOf(frame, wide, null)), wide };
}

/**
 * @param {Frame} frame
 * @param {number} wide blocks
 * @param {Float32Array | null} near what a pixel has to be near to, to count
 */
function meansOf({ data, width, height }, wide, near) {
  const high = Math.ceil(height / BLOCK);
  const sums = new Float32Array(wide * high * 4);
  for (let y = 0; y < height; y += 2) {
    for (let x = 0; x < width; x += 2) {
      const block = Math.floor(y / BLOCK) * wide + Math.floor(x / BLOCK);
      const [at, from, n] = [block * 4, block * 3, (y * width + x) * 4];
      const off = near ? Math.abs(data[n] - near[from]) + Math.abs(data[n + 1] - near[from + 1]) + Math.abs(data[n + 2] - near[from + 2]) : 0;
      if (near && off > FAR_OFF * (near[from] + near[from + 1] + near[from + 2])) continue;
      for (let c = 0; c < 3; c += 1) sums[at + c] += data[n + c];
      sums[at + 3] += 1;
    }
  }
  return smoothed(sums, wide, high, near);
}

/**
 * @param {Float32Array} sums
 * @param {number} wide
 * @param {number} high
 * @param {Float32Array | null} otherwise
 */
function smoothed(sums, wide, high, otherwise) {
  const smooth = new Float32Array(wide * high * 3);
  for (let n = 0; n < wide * high; n += 1) {
    const [bx, by, total] = [n % wide, Math.floor(n / wide), [0, 0, 0, 0]];
    for (let y = Math.max(0, by - 1); y <= Math.min(high - 1, by + 1); y += 1) {
      for (let x = Math.max(0, bx - 1); x <= Math.min(wide - 1, bx + 1); x += 1) {
        for (let c = 0; c < 4; c += 1) total[c] += sums[(y * wide + x) * 4 + c];
      }
    }
    for (let c = 0; c < 3; c += 1) smooth[n * 3 + c] = total[3] ? Math.max(1, total[c] / total[3]) : otherwise?.[n * 3 + c] ?? 1;
  }
  return smooth;
}

/**
 * What is left of a colour once the stone's share is taken out, one unit long; shade and light go with it.
 * @param {number[]} colour
 * @param {Float32Array} stone
 * @param {number} from where in the stone's figures
 */
function hueBeside(colour, stone, from) {
  const [r, g, b] = [stone[from], stone[from + 1], stone[from + 2]];
  const square = r * r + g * g + b * b;
  const share = (colour[0] * r + colour[1] * g + colour[2] * b) / square;
  const left = [colour[0] - share * r, colour[1] - share * g, colour[2] - share * b];
  const length = Math.sqrt(left[0] ** 2 + left[1] ** 2 + left[2] ** 2);
  return { unit: left.map((one) => one / (length || 1)), faint: length < FAINTEST * Math.sqrt(square) };
}

/**
 * Every pixel as ring, mark or neither.
 * @param {Frame} frame
 * @param {Colours} colours
 */
export function pencilled(frame, colours) {
  const { width, height } = frame;
  const { smooth, wide } = groundOf(frame);
  const kinds = new Uint8Array(width * height);
  for (let by = 0; by * BLOCK < height; by += 1) {
    for (let bx = 0; bx < wide; bx += 1) sortBlock(frame, colours, kinds, smooth, (by * wide + bx) * 3, bx * BLOCK, by * BLOCK);
  }
  return kinds;
}

/**
 * One block of pixels over one ground; written out in figures, since it is run for every pixel of a frame.
 * @param {Frame} frame
 * @param {Colours} colours
 * @param {Uint8Array} kinds
 * @param {Float32Array} stone
 * @param {number} from
 * @param {number} left
 * @param {number} top
 */
function sortBlock({ data, width, height }, colours, kinds, stone, from, left, top) {
  const [sr, sg, sb] = [stone[from], stone[from + 1], stone[from + 2]];
  const square = sr * sr + sg * sg + sb * sb;
  const { unit: [rr, rg, rb] } = hueBeside(colours.ring, stone, from);
  const { unit: [mr, mg, mb], faint: graphite } = hueBeside(colours.mark, stone, from);
  const least = Math.max(FAINTEST * FAINTEST * square, LEAST_HUE * LEAST_HUE);
  const [right, bottom] = [Math.min(width, left + BLOCK), Math.min(height, top + BLOCK)];
  for (let y = top; y < bottom; y += 1) {
    for (let x = left; x < right; x += 1) {
      const n = y * width + x;
      const [r, g, b] = [data[n * 4], data[n * 4 + 1], data[n * 4 + 2]];
      const share = (r * sr + g * sg + b * sb) / square;
      const [hr, hg, hb] = [r - share * sr, g - share * sg, b - share * sb];
      const length = hr * hr + hg * hg + hb * hb;
      if (length < least) {
        if (graphite && share < DARK) kinds[n] = MARK;
        continue;
      }
      const likeRing = hr * rr + hg * rg + hb * rb;
      const likeMark = graphite ? -1 : hr * mr + hg * mg + hb * mb;
      const best = Math.max(likeRing, likeMark);
      if (best > 0 && best * best >= ALIKE * ALIKE * length) kinds[n] = likeRing > likeMark ? RING : MARK;
    }
  }
}
