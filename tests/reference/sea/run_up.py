"""Run-up, set-up and swash after Stockdon and others (2006) as py-wave-runup works them out.

    pip install py-wave-runup==0.1.12
    python run_up.py > run_up.tsv
"""
from importlib.metadata import version

from py_wave_runup.models import Stockdon2006

print(f"# py-wave-runup {version('py-wave-runup')}, py_wave_runup.models.Stockdon2006; metres, seconds, metres a metre")
print("hs_m\ttp_s\tslope\tiribarren\tsetup_m\tswash_m\tr2_m")
for hs in [0.2, 0.5, 0.79, 1.0, 1.5, 2.5, 4.0, 7.0]:
    for tp in [3.0, 5.5, 7.7, 8.0, 11.0, 16.0]:
        for slope in [0.005, 0.012, 0.02, 0.035, 0.05, 0.08, 0.11, 0.16]:
            s = Stockdon2006(Hs=hs, Tp=tp, beta=slope)
            print(f"{hs}\t{tp}\t{slope}\t{s.zeta.item():.9f}\t{s.setup:.9f}\t{s.swash:.9f}\t{s.R2:.9f}")
