"""Transfer function and coherence of two WAV files by scipy.signal, on a grid of frequencies.

Arguments: dry.wav, recording.wav, samples by which the recording is later, samples in a window.
Reads the grid's frequencies from standard input, prints a line each: level in dB, coherence. The
lines of a band of 1/12 octave are added as powers; the bias of the coherence is taken off as in any
regression on n independent averages.
"""

import sys

import numpy
import scipy.io.wavfile
import scipy.signal

dry_path, heard_path, later, length = sys.argv[1:5]
later, length = int(later), int(length)
rate, dry = scipy.io.wavfile.read(dry_path)
_, heard = scipy.io.wavfile.read(heard_path)
dry = dry.astype(numpy.float64) - dry.mean(dtype=numpy.float64)
heard = heard.astype(numpy.float64) - heard.mean(dtype=numpy.float64)
frames = min(len(dry), len(heard) - later)
x, y = dry[:frames], heard[later : later + frames]
how = dict(fs=rate, window="hann", nperseg=length, noverlap=length // 2, detrend=False)
lines, pxx = scipy.signal.welch(x, **how)
_, pyy = scipy.signal.welch(y, **how)
_, pxy = scipy.signal.csd(x, y, **how)
_, plain = scipy.signal.coherence(x, y, **how)
windows = (frames - length // 2) // (length // 2)
averages = windows / (1 + 2 / 36)
# scipy's own coherence, line by line, is the coherent share of the output.
assert numpy.allclose(plain * pyy, numpy.abs(pxy) ** 2 / pxx)
coherent = plain * pyy - (1 - plain) * pyy / (averages - 1)
half = 2 ** (1 / 24)
for word in sys.stdin.read().split():
    hz = float(word)
    inside = (lines >= hz / half) & (lines <= hz * half)
    if not inside.any():
        inside[numpy.argmin(numpy.abs(lines - hz))] = True
    power = coherent[inside].sum()
    print(10 * numpy.log10(power / pxx[inside].sum()), power / pyy[inside].sum())
