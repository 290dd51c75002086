// How the phases of one gauge differ between publishers, constituent by constituent: the evidence for the
// conventions in src/tide/constituent.rs. Prints mean difference (TICON minus the other), the length of the
// mean unit vector (1 = all alike) and the median ratio of amplitudes.
//
//   npm install @neaps/tide-database@0.10.20260924
//   node conventions.mjs > conventions.txt
import { allStations } from "@neaps/tide-database";

const reference = allStations.filter((s) => s.type === "reference" && s.kind === "tide");
const of = (publisher) => reference.filter((s) => s.id.startsWith(publisher));
const ticon = of("ticon");
const SAME = {
  LAM2: "LAMBDA2", RHO: "RHO1", mu2: "MU2", nu2: "NU2", lambda2: "LAMBDA2", eps2: "EP2", rho1: "RHO1", sigma1: "SGM",
  NO1: "M1", SA_KV: "SA", S1_KV: "S1", Mm: "MM", Mf: "MF", Ssa: "SSA", alpha2: "MA2", "M(KS)2": "MB2", SK3: "R3",
};
const rad = Math.PI / 180;
for (const publisher of ["noaa", "kartverket"]) {
  const found = {};
  let gauges = 0;
  for (const a of of(publisher)) {
    const b = ticon.find((t) => Math.abs(t.latitude - a.latitude) < 0.02 && Math.abs(t.longitude - a.longitude) < 0.03);
    if (!b) continue;
    gauges++;
    const there = new Map(b.harmonic_constituents.map((h) => [h.name, h]));
    for (const h of a.harmonic_constituents) {
      const g = there.get(SAME[h.name] ?? h.name);
      // Below a millimetre and a bit a phase is noise.
      if (g && h.amplitude >= 0.0012 && g.amplitude >= 0.0012) (found[h.name] ??= []).push([g.phase - h.phase, g.amplitude / h.amplitude]);
    }
  }
  console.log(`${publisher}: ${gauges} gauges in both`);
  for (const [name, pairs] of Object.entries(found)) {
    const c = pairs.reduce((sum, [d]) => sum + Math.cos(d * rad), 0) / pairs.length;
    const s = pairs.reduce((sum, [d]) => sum + Math.sin(d * rad), 0) / pairs.length;
    const ratio = pairs.map((p) => p[1]).sort((x, y) => x - y)[pairs.length >> 1];
    console.log([name, SAME[name] ?? name, pairs.length, (Math.atan2(s, c) / rad).toFixed(1), Math.hypot(c, s).toFixed(3), ratio.toFixed(2)].join("\t"));
  }
}
