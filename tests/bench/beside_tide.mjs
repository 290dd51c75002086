// Times @neaps/tide-predictor on the constants it is given on standard input; called by beside_tide.py.
//
//   npm install @neaps/tide-predictor@0.11.0
import createTidePredictor from "@neaps/tide-predictor";
import { readFileSync } from "node:fs";

const { constituents, start, end, step_s: timeFidelity } = JSON.parse(readFileSync(0, "utf8"));
const predictor = createTidePredictor(constituents, { nodeCorrections: "schureman", phaseKey: "phase" });
const span = { start: new Date(start), end: new Date(end) };
const timed = (job) => {
  const took = [];
  let count = 0;
  for (let i = 0; i < 7; i++) {
    const from = performance.now();
    count = job().length;
    took.push(performance.now() - from);
  }
  return { ms: took.sort((a, b) => a - b)[3], count };
};
console.log(
  JSON.stringify({
    heights: timed(() => predictor.getTimelinePrediction({ ...span, timeFidelity })),
    turns: timed(() => predictor.getExtremesPrediction(span)),
  }),
);
