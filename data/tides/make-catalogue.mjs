// Builds catalogue.tsv.gz from the npm package @neaps/tide-database 0.10.20260924.
//
//   npm install @neaps/tide-database@0.10.20260924
//   node make-catalogue.mjs catalogue.tsv.gz
//
// Kept: reference stations (own harmonic constituents) that measure the tide, not a current, whose
// licence is "public domain" or "cc-by-4.0". One station a line, tab separated, the columns named in
// the first line; a README beside this file says what each holds.
import { writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";
import { stations } from "@neaps/tide-database";

const LICENCES = { "public domain": "public-domain", "cc-by-4.0": "cc-by-4.0" };
// Ranges, inequalities and intervals travel among NOAA's datums but are no levels.
const NOT_LEVELS = new Set(["GT", "MN", "DHQ", "DLQ", "HWI", "LWI", "CRD_OFFSET"]);
const COLUMNS = [
  "id", "name", "locality", "region", "country", "lon_deg", "lat_deg", "time_zone", "licence", "chart_datum",
  "datums_mm", "datums_from", "epoch", "remark", "constituents",
];

const text = (value) => (value ?? "").replace(/<[^>]*>/g, "").replace(/\s+/g, " ").trim();
const remark = (station) => {
  const said = text(station.disclaimers);
  // Two remarks that say nothing about the station itself.
  return said === "No obvious issues" || said.startsWith("Tide and water-level data ©") ? "" : said;
};
const line = (station) => [
  station.id,
  text(station.name),
  text(station.locality),
  text(station.region),
  text(station.country),
  station.longitude.toFixed(5),
  station.latitude.toFixed(5),
  station.timezone,
  LICENCES[station.license.type],
  station.chart_datum,
  Object.entries(station.datums ?? {})
    .filter(([name]) => !NOT_LEVELS.has(name))
    .map(([name, m]) => `${name}=${Math.round(m * 1000)}`)
    .join(" "),
  station.datums_source ?? "published",
  station.epoch ? `${station.epoch.start}/${station.epoch.end}` : "",
  remark(station),
  // Amplitude in hundredths of a millimetre, phase lag in hundredths of a degree.
  station.harmonic_constituents
    .filter((c) => c.amplitude > 0)
    .map((c) => `${c.name}=${Math.round(c.amplitude * 1e5)},${Math.round(c.phase * 100)}`)
    .join(" "),
].join("\t");

const kept = stations
  .filter((s) => s.kind === "tide" && s.type === "reference" && s.license?.type in LICENCES)
  .sort((a, b) => (a.id < b.id ? -1 : 1));
const out = [COLUMNS.join("\t"), ...kept.map(line)].join("\n") + "\n";
writeFileSync(process.argv[2] ?? "catalogue.tsv.gz", gzipSync(out, { level: 9 }));
console.log(`${kept.length} stations, ${out.length} bytes before compression`);
