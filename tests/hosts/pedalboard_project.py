"""A project in a real VST3 host without a window: sets values, saves, opens the saved project in a
fresh instance, plays a recording through that.

Takes the plugin's bundle, the class's name, the rate, the number of channels, an input and an
output file (raw 32-bit floats, channel after channel), and NAME=POSITION for each value, positions
from 0 to 1. Prints the latency that was told. Ends with an error if a value did not come back.
"""

import sys

import numpy as np
import pedalboard

bundle, name, rate, channels, source, target = sys.argv[1:7]
rate, channels = int(rate), int(channels)
wanted = [argument.rsplit("=", 1) for argument in sys.argv[7:]]


def instance():
    return pedalboard.load_plugin(bundle, plugin_name=name)


def parameter(plugin, called):
    for candidate in plugin.parameters.values():
        if candidate.name == called:
            return candidate
    sys.exit(f"no parameter {called!r} among {[p.name for p in plugin.parameters.values()]}")


sound = np.fromfile(source, dtype=np.float32).reshape(channels, -1)

first = instance()
for called, position in wanted:
    parameter(first, called).raw_value = float(position)
# A block carries the values to the plugin.
first(np.zeros((channels, 4096), np.float32), rate)
texts = {called: parameter(first, called).string_value for called, _ in wanted}
project = first.raw_state
del first

second = instance()
second.raw_state = project
silence = second(np.zeros((channels, 4096), np.float32), rate)
for called, text in texts.items():
    now = parameter(second, called).string_value
    if now != text:
        sys.exit(f"{called} was {text!r} and came back as {now!r}")
    print(called, now)
if np.abs(silence).max() > 1e-3:
    sys.exit(f"silence sounds: {np.abs(silence).max()}")

heard = second(sound, rate, buffer_size=512, reset=True)
if heard.shape != sound.shape or not np.isfinite(heard).all():
    sys.exit(f"what is heard is no sound: {heard.shape}")
heard.astype(np.float32).tofile(target)
print("latency", second.reported_latency_samples)
