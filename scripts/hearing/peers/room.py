"""Prints the impulse response of a hard room, one sample a line at 16 kHz.

A garage of 6 by 5 by 2.8 m that takes the given seconds to fall by 60 dB
(Sabine's formula gives the absorption); the speaker under a machine, the
microphone on the bench 3 m away. Image sources for the early part, ray tracing
for the late one.
"""

import sys

import numpy
import pyroomacoustics as pra

numpy.random.seed(1)
size = [6.0, 5.0, 2.8]
absorption, _ = pra.inverse_sabine(float(sys.argv[1]), size)
room = pra.ShoeBox(
    size,
    fs=16000,
    materials=pra.Material(absorption),
    max_order=8,
    ray_tracing=True,
    air_absorption=True,
)
room.add_source([1.8, 1.5, 0.4])
away = numpy.array([1.0, 1.0, 0.35])
room.add_microphone(numpy.array([1.8, 1.5, 0.4]) + 3.0 * away / numpy.linalg.norm(away))
room.compute_rir()
response = room.rir[0][0]
print(f"reverberation time {pra.experimental.measure_rt60(response, fs=16000):.2f} s", file=sys.stderr)
for sample in response:
    print(f"{sample:.9g}")
