"""The quality of a real VST3 host's first rendering: plays a recording through fresh instances, one as
it is, the others with a fixed oversampling.

Takes the plugin's bundle, the class's name, the rate, and an input file (raw 32-bit floats, two
channels one after the other). Prints by how many samples the first differs from those at 2 and at 8
times.
"""

import sys

import numpy as np
import pedalboard

bundle, name, rate, source = sys.argv[1:5]
sound = np.fromfile(source, dtype=np.float32).reshape(2, -1)


def heard(oversampling):
    plugin = pedalboard.load_plugin(bundle, plugin_name=name)
    if oversampling is not None:
        parameter = next(p for p in plugin.parameters.values() if p.name == "Oversampling")
        parameter.raw_value = oversampling
    return plugin(sound, int(rate), buffer_size=512, reset=True)


fresh = heard(None)
if not np.isfinite(fresh).all() or np.abs(fresh).max() < 1e-3:
    sys.exit(f"nothing sensible is heard: {np.abs(fresh).max()}")
print("from 2 times", np.count_nonzero(fresh != heard(1 / 3)))
print("from 8 times", np.count_nonzero(fresh != heard(1.0)))
