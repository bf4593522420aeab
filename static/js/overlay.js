// @ts-check
/** What a statement made without the bench PC corrects: what stands as of the page, overlaid by what waits here. */
import { bodyFrom, claimsOf } from "./statement.js";

/**
 * @typedef {import("./statement.js").Statement} Statement
 * @typedef {import("./statement.js").Kind} Kind
 * @typedef {{ids: string[], kind: string, lead: boolean | null}} Standing
 * @typedef {{tripod: string | null, fourth: string | null, brings_back: string | null, disturbed: string[]}} Held
 * @typedef {{setting: string | null, tripod: string | null, standing: Record<string, Standing>,
 *   lasting?: Record<string, Standing>}} Known `standing` at the setting, `lasting` at whatever setting
 */

/** What gives the cast another setting. */
export const SETTINGS = ["mounted", "setting_taken"];
const LOOKED = "interferences";

/**
 * The setting the cast has: the last one taken here, else the one the page knows.
 * @param {Known} known
 * @param {Statement[]} rows what waits of this case, oldest first
 */
export function settingNow(known, rows) {
  return rows.filter((one) => SETTINGS.includes(one.kind)).pop()?.id ?? known.setting;
}

/**
 * What a re-mount is read against: the marks made last with the setting they hold, and the disturbances
 * it is made after. A fourth mark belongs to the marks the page knows.
 * @param {Known & Held} known
 * @param {Statement[]} rows
 * @returns {Held}
 */
export function recordHeld(known, rows) {
  const gone = new Set(rows.flatMap((one) => one.kind === "withdrawn" ? [one.body.entry] : one.supersedes));
  const here = rows.filter((one) => !gone.has(one.id));
  const marked = here.filter((one) => one.kind === "tripod_marked").pop();
  const disturbed = [...known.disturbed, ...here.filter((one) => one.kind === "disturbed").map((one) => one.id)];
  const held = marked ? { tripod: marked.id, fourth: null, brings_back: marked.setting }
    : { tripod: known.tripod, fourth: known.fourth, brings_back: known.tripod ? known.brings_back : settingNow(known, rows) };
  return { ...held, disturbed: disturbed.filter((id) => !gone.has(id)) };
}

/**
 * Which entries a new statement names as corrected, and what has to be said again beside it.
 * @param {Known} known
 * @param {Statement[]} rows
 * @param {{kinds: Record<string, Kind>}} stating
 * @param {{kind: string, pairs: [string, string][], setting: string | null}} said
 * @returns {{corrects: string[], kept: Record<string, any>[]}}
 */
export function overlaid(known, rows, stating, { kind, pairs, setting }) {
  const schema = stating.kinds[kind];
  const lasts = !schema.at_a_setting;
  if (!setting && !lasts) return { corrects: [], kept: [] };
  const standing = new Map(lasts ? Object.entries(known.lasting ?? {}) : setting === known.setting ? Object.entries(known.standing) : []);
  // What a correction that was taken back had corrected stands again.
  const back = new Set(rows.filter((row) => row.kind === "withdrawn").map((row) => row.body.entry));
  for (const one of rows.filter((row) => stating.kinds[row.kind] && !back.has(row.id))) {
    const isOfSuch = lasts ? !stating.kinds[one.kind].at_a_setting : one.setting === setting;
    if (isOfSuch || one.kind === "withdrawn") lay(standing, one, stating.kinds[one.kind]);
  }
  const mine = ownClaims(kind, claimsOf(schema, bodyFrom(schema, pairs).body));
  const hit = [...standing].filter(([claim, one]) => mine.includes(claim) && one.kind === kind || displaced(kind, claim, one));
  const corrects = [...new Set(hit.flatMap(([, one]) => one.ids))];
  return { corrects, kept: kind === "survey_lines_drawn" ? keptLines(standing, corrects, mine) : [] };
}

/**
 * A note of an interference corrects the word that none was seen.
 * @param {string} kind
 * @param {string} claim
 * @param {Standing} one
 */
function displaced(kind, claim, one) {
  return kind === "interference_noted" && claim === LOOKED && one.kind === "interferences_looked";
}

/**
 * @param {string} kind
 * @param {string[]} claims
 */
function ownClaims(kind, claims) {
  return kind === "interference_noted" ? claims.filter((one) => one !== LOOKED) : claims;
}

/**
 * @param {Map<string, Standing>} standing
 * @param {Statement} statement
 * @param {Kind} schema
 */
function lay(standing, statement, schema) {
  const gone = statement.kind === "withdrawn" ? [statement.body.entry] : statement.supersedes;
  for (const [claim, one] of standing) if (one.ids.some((id) => gone.includes(id))) standing.delete(claim);
  const lead = statement.body.lead_at_gingival ?? null;
  for (const claim of ownClaims(statement.kind, claimsOf(schema, statement.body))) {
    standing.set(claim, { ids: [statement.id], kind: statement.kind, lead });
  }
}

/**
 * Lines of a corrected entry that the new one does not name are drawn still: they are said again.
 * @param {Map<string, Standing>} standing
 * @param {string[]} corrects
 * @param {string[]} mine
 */
function keptLines(standing, corrects, mine) {
  const rest = [...standing].filter(([claim, one]) => !mine.includes(claim) && one.ids.some((id) => corrects.includes(id)));
  return [true, false].map((lead) => ({
    sites: rest.filter(([, one]) => one.lead === lead).map(([claim]) => claim.split("|")[1]), lead_at_gingival: lead,
  })).filter((body) => body.sites.length > 0);
}
