"""Writes the reference that the Go port of the voice is compared with.

Run beside the lines in hibari_lines.txt with hibari-tts 0.2.1 installed (pip, Apache-2.0):

    python hibari_reference.py

hibari_phonemes.tsv: one line of text and its phonemes a row, one sentence a line.
hibari_loudness.json: level in dB of every 20 ms of one phrase, mean of ten seeds of its noise.
"""
import json
import numpy as np
from hibari import Hibari

tts = Hibari()
with open("hibari_lines.txt", encoding="utf-8") as f, open("hibari_phonemes.tsv", "w", encoding="utf-8") as out:
    for line in f:
        line = line.strip()
        if line:
            out.write(line + "\t" + tts.g2p(line) + "\n")

phrase = "Twelve bolts off the front cover."
levels = []
for seed in range(10):
    wave = tts(phrase, seed=seed)
    frames = wave[: len(wave) // 480 * 480].reshape(-1, 480)
    levels.append(10 * np.log10((frames.astype(np.float64) ** 2).mean(1) + 1e-9))
with open("hibari_loudness.json", "w", encoding="utf-8") as out:
    json.dump({"phrase": phrase, "phonemes": tts.g2p(phrase), "samples": len(wave),
               "db": [round(float(x), 2) for x in np.mean(levels, 0)]}, out)
