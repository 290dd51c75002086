"""Speeds of constituents, degrees per hour, by utide and by the IHO list as @neaps/tide-predictor carries it.

    pip install utide==0.4.0; npm install @neaps/tide-predictor@0.11.0
    python speeds.py node_modules/@neaps/tide-predictor/dist/index.js > speeds.tsv
"""
import json, re, sys
import utide
from utide._ut_constants import ut_constants

print(f"# utide {utide.__version__} ut_constants; IHO Tides, Water Level and Currents WG list in @neaps/tide-predictor 0.11.0")
print("name\tsource\tspeed_deg_h")
const = ut_constants.const
for name, freq in zip(const.name, const.freq):
    print(f"{name}\tutide\t{freq * 360:.7f}")
text = open(sys.argv[1], encoding="utf-8").read()
text = text[text.index("//#region src/constituents/index.ts"):]
for name, speed in re.findall(r'"name": "([^"]+)",\s*"speed": ([\d.]+)', text):
    print(f"{name}\tIHO\t{speed}")
