// Writes turns.csv: the high and low waters of the station whose tide the invented beach borrows,
// predicted outside the project with @neaps/tide-predictor from the constants in @neaps/tide-database.
// Run where both packages are installed: node make-turns.mjs > turns.csv
import { createTidePredictor } from "@neaps/tide-predictor";
import { stations } from "@neaps/tide-database";

const id = "ticon/st_marys-stm-gbr-da_idh";
const station = stations.find((s) => s.id === id);
// Levels above lowest astronomical tide, which is the station's chart datum in the catalogue.
const offset = station.datums.MSL - station.datums.LAT;
const predictor = createTidePredictor(station.harmonic_constituents, { offset });
const turns = predictor.getExtremesPrediction({ start: new Date("2025-04-25T00:00:00Z"), end: new Date("2026-11-05T00:00:00Z") });
console.log("time,height,turn");
for (const t of turns) {
  const minute = new Date(Math.round(t.time.getTime() / 60000) * 60000);
  console.log(`${minute.toISOString().slice(0, 16)}Z,${t.level.toFixed(2)},${t.high ? "high" : "low"}`);
}
