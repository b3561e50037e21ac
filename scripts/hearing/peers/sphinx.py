"""A peer of the hearing bench: PyPI pocketsphinx held to the same JSGF grammar.

    python sphinx.py GRAMMAR.jsgf

A line in is LANGUAGE<tab>FILE.wav (16 kHz, mono, 16 bits; the language is not
looked at), a line out is a JSON object. scripts/hearing/peers/install puts
pocketsphinx into a virtual environment of the bench's own.
"""

import json
import sys
import wave

import pocketsphinx


def main(grammar):
    ear = pocketsphinx.Decoder(jsgf=grammar, samprate=16000, loglevel="FATAL")
    print(json.dumps({"ready": True}), flush=True)
    for line in sys.stdin:
        path = line.rstrip("\n").split("\t")[-1]
        try:
            with wave.open(path) as sound:
                samples = sound.readframes(sound.getnframes())
        except (OSError, wave.Error, EOFError) as e:
            print(json.dumps({"error": f"cannot read {path}: {e}"}), flush=True)
            continue
        ear.start_utt()
        ear.process_raw(samples, full_utt=True)
        ear.end_utt()
        best = ear.hyp()
        print(json.dumps({"text": best.hypstr if best else ""}), flush=True)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python sphinx.py GRAMMAR.jsgf")
    main(sys.argv[1])
