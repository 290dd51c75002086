// Heights by @neaps/tide-predictor 0.11.0 with Schureman's nodal terms, for tests/rooms/tide/predicted.rs.
//
//   npm install @neaps/tide-predictor@0.11.0
//   node neaps_heights.mjs ../../../data/tides/catalogue.tsv.gz > neaps_heights.tsv
//
// Constituents that it defines otherwise than the stations' publishers are left out: M1 (perigee counted
// twice), M3 (half a turn), TICON's plain terdiurnals, 2MK5, 2MO5 and SGM, the _KV variants, and SA and S1
// of no other than NOAA. Metres about mean sea level.
import { readFileSync } from "node:fs";
import { gunzipSync } from "node:zlib";
import createTidePredictor from "@neaps/tide-predictor";

const ALIKE = (
  "M2 S2 N2 K2 2N2 MU2 NU2 L2 T2 R2 LAM2 LAMBDA2 EP2 EPS2 K1 O1 P1 Q1 2Q1 J1 RHO RHO1 SIGMA1 PI1 CHI1 " +
  "MK3 MO3 2MK3 SO3 SK3 M4 MN4 MS4 S4 SN4 MK4 M6 S6 2MN6 2MS6 2MK6 2SM6 MSK6 M8 SA SSA MM MF 2SM2 MKS2 MSN2"
).split(" ");
const rows = gunzipSync(readFileSync(process.argv[2])).toString("utf8").trimEnd().split("\n");
const head = rows[0].split("\t");
console.log(`# @neaps/tide-predictor 0.11.0, fundamentals schureman; constituents: ${ALIKE.join(" ")}`);
console.log("station\tunix_s\theight_m");
let seed = 7;
const random = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
rows.slice(1).forEach((row, number) => {
  const s = Object.fromEntries(row.split("\t").map((v, i) => [head[i], v]));
  if (number % 17 !== 3) return;
  const constituents = s.constituents.split(" ").flatMap((pair) => {
    const [name, values] = pair.split("=");
    const [a, g] = values.split(",").map(Number);
    return ALIKE.includes(name.toUpperCase()) ? [{ name, amplitude: a / 1e5, phase: g / 100 }] : [];
  });
  const predictor = createTidePredictor(constituents, { nodeCorrections: "schureman", phaseKey: "phase" });
  for (let i = 0; i < 24; i++) {
    // The predictor rounds to whole steps of ten minutes.
    const unix = 600 * Math.floor((1104537600 + random() * 20 * 365 * 86400) / 600);
    const { level } = predictor.getWaterLevelAtTime({ time: new Date(unix * 1000) });
    console.log(`${s.id}\t${unix}\t${level.toFixed(4)}`);
  }
});
