// @ts-check
/**
 * Looks for ringed marks in a small frame: a patch of the mark's colour with the ring's colour around it.
 * A quick look while framing, no measurement: the bench PC looks at the photo itself. Pure.
 */

/**
 * @typedef {{data: ArrayLike<number>, width: number, height: number}} Frame red, green, blue, alpha of each pixel
 * @typedef {{mark: number[], ring: number[]}} Colours red, green, blue from 0 to 255
 * @typedef {{x: number, y: number, radius: number}} Ringed
 */

const BLOCK = 16;
const RING = 1;
const MARK = 2;
// How far off the stone's own hue a pixel is, against the stone's brightness: paler is stone, not pencil.
const FAINTEST = 0.07;
// In the dark the noise of the camera has hues of its own: this many of 255 at least.
const LEAST_HUE = 14;
const ALIKE = 0.8;
// A stroke of graphite has no hue: it is told by how much darker than the stone it is.
const DARK = 0.62;
const APART = 2;

/**
 * @param {Frame} frame
 * @param {Colours} colours
 * @param {{least: number, most: number}} across how wide a ring may be, in pixels
 * @returns {Ringed[]} from left to right
 */
export function ringedMarks(frame, colours, across) {
  const kinds = sorted(frame, colours);
  const seen = new Uint8Array(kinds.length);
  /** @type {Ringed[]} */
  const found = [];
  for (let n = 0; n < kinds.length; n += 1) {
    if (kinds[n] !== RING || seen[n]) continue;
    const box = patchFrom(n, kinds, seen, frame);
    const ringed = box && isRing(box, across) ? markIn(box, kinds, frame.width) : null;
    if (ringed) found.push(ringed);
  }
  return found.sort((one, other) => one.x - other.x);
}

/**
 * The brightness and hue of the stone around: means of blocks, smoothed over their neighbours.
 * @param {Frame} frame
 */
function groundOf({ data, width, height }) {
  const [wide, high] = [Math.ceil(width / BLOCK), Math.ceil(height / BLOCK)];
  const sums = new Float32Array(wide * high * 4);
  for (let y = 0; y < height; y += 2) {
    for (let x = 0; x < width; x += 2) {
      const [at, n] = [(Math.floor(y / BLOCK) * wide + Math.floor(x / BLOCK)) * 4, (y * width + x) * 4];
      for (let c = 0; c < 3; c += 1) sums[at + c] += data[n + c];
      sums[at + 3] += 1;
    }
  }
  const smooth = new Float32Array(wide * high * 3);
  for (let n = 0; n < wide * high; n += 1) {
    const [bx, by] = [n % wide, Math.floor(n / wide)];
    let count = 0;
    for (let y = Math.max(0, by - 1); y <= Math.min(high - 1, by + 1); y += 1) {
      for (let x = Math.max(0, bx - 1); x <= Math.min(wide - 1, bx + 1); x += 1) {
        for (let c = 0; c < 3; c += 1) smooth[n * 3 + c] += sums[(y * wide + x) * 4 + c];
        count += sums[(y * wide + x) * 4 + 3];
      }
    }
    for (let c = 0; c < 3; c += 1) smooth[n * 3 + c] = Math.max(1, smooth[n * 3 + c] / count);
  }
  return { smooth, wide };
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
function sorted(frame, colours) {
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

/** @typedef {{left: number, right: number, top: number, bottom: number, area: number}} Box */

/**
 * The patch of ring colour that a pixel belongs to; small gaps do not part it.
 * @param {number} start
 * @param {Uint8Array} kinds
 * @param {Uint8Array} seen
 * @param {Frame} frame
 * @returns {Box}
 */
function patchFrom(start, kinds, seen, { width, height }) {
  const box = { left: width, right: 0, top: height, bottom: 0, area: 0 };
  const open = [start];
  seen[start] = 1;
  for (let n = open.pop(); n !== undefined; n = open.pop()) {
    const [x, y] = [n % width, Math.floor(n / width)];
    Object.assign(box, { left: Math.min(box.left, x), right: Math.max(box.right, x), top: Math.min(box.top, y), bottom: Math.max(box.bottom, y) });
    box.area += 1;
    for (let dy = Math.max(-APART, -y); dy <= Math.min(APART, height - 1 - y); dy += 1) {
      for (let dx = Math.max(-APART, -x); dx <= Math.min(APART, width - 1 - x); dx += 1) {
        const near = n + dy * width + dx;
        if (kinds[near] !== RING || seen[near]) continue;
        seen[near] = 1;
        open.push(near);
      }
    }
  }
  return box;
}

/**
 * @param {Box} box
 * @param {{least: number, most: number}} across
 */
function isRing({ left, right, top, bottom, area }, { least, most }) {
  const [wide, high] = [right - left + 1, bottom - top + 1];
  const [small, large] = [Math.min(wide, high), Math.max(wide, high)];
  return small >= least && large <= most && large <= 1.8 * small && area < 0.75 * wide * high;
}

/**
 * The mark inside a ring, None where its middle is bare.
 * @param {Box} box
 * @param {Uint8Array} kinds
 * @param {number} width
 * @returns {Ringed | null}
 */
function markIn({ left, right, top, bottom }, kinds, width) {
  const [inX, inY] = [(right - left) * 0.2, (bottom - top) * 0.2];
  let [count, sumX, sumY] = [0, 0, 0];
  for (let y = Math.ceil(top + inY); y <= bottom - inY; y += 1) {
    for (let x = Math.ceil(left + inX); x <= right - inX; x += 1) {
      if (kinds[y * width + x] !== MARK) continue;
      [count, sumX, sumY] = [count + 1, sumX + x + 0.5, sumY + y + 0.5];
    }
  }
  const least = Math.max(2, 0.02 * (right - left) * (bottom - top));
  return count < least ? null : { x: sumX / count, y: sumY / count, radius: (right - left + bottom - top + 2) / 4 };
}
