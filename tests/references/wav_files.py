"""Writes small WAV files of every form, and what outside readers hear in them, to wav-files.json.

Run once, in a virtual environment with Python 3.11; the result is committed and the Rust tests read it:
  pip install soundfile==0.14.0 ear==2.1.0 setuptools==65.5.0
  python tests/references/wav_files.py > tests/references/wav-files.json

soundfile (BSD-3-Clause) is libsndfile (LGPL-2.1); it writes and reads RIFF, RIFX, RF64 and the extended format chunk. ear
(BSD-3-Clause-Clear) is the EBU's own reader and writer of BW64 (ITU-R BS.2088). wave is Python's own.
"""

import datetime
import io
import json
import sys
import warnings
import wave

import numpy
import soundfile

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import ear
    from ear.fileio.bw64 import Bw64Reader, Bw64Writer
    from ear.fileio.bw64.chunks import FormatInfoChunk

# Left and right, parts of full scale; multiples of 2^-7, so that every width holds them exactly.
SAMPLES = numpy.array([[-1, 0.5], [-0.5, -0.25], [-0.0078125, 0.9921875], [0, 0], [0.75, -0.125], [0.0078125, -1]])
RATE = 44_100

# Format, endianness, subtype and comment, by libsndfile's names. The comment becomes a chunk of metadata.
SOUNDFILE = [
    ("WAV", "FILE", "PCM_U8", None),
    ("WAV", "FILE", "PCM_16", None),
    ("WAV", "FILE", "PCM_24", "odd"),
    ("WAV", "FILE", "PCM_32", None),
    ("WAV", "FILE", "FLOAT", None),
    ("WAVEX", "FILE", "PCM_16", None),
    ("WAVEX", "FILE", "PCM_24", None),
    ("WAVEX", "FILE", "FLOAT", None),
    ("WAV", "BIG", "PCM_U8", None),
    ("WAV", "BIG", "PCM_16", None),
    ("WAV", "BIG", "PCM_24", "odd"),
    ("WAV", "BIG", "PCM_32", None),
    ("WAV", "BIG", "FLOAT", None),
    ("RF64", "FILE", "PCM_U8", None),
    ("RF64", "FILE", "PCM_16", "a comment"),
    ("RF64", "FILE", "PCM_24", None),
    ("RF64", "FILE", "FLOAT", None),
]

# Bits, metadata behind the samples, and whether lengths of 64 bits are asked for.
EAR = [(16, None, True), (24, b"<odd/>!", True), (32, b"<even />", True), (16, b"<even />", False)]


def row(name, written, read):
    rate, samples = read
    assert len(written) < 1000 and len(samples) == len(SAMPLES), name
    return {"name": name, "file": written.hex(), "rate": rate, "samples": samples}


def of_soundfile(form, endian, subtype, comment):
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", RATE, 2, subtype, endian, form) as out:
        if comment:
            out.comment = comment
        out.write(SAMPLES)
    file.seek(0)
    samples, rate = soundfile.read(file)
    name = {"FILE": form, "BIG": "RIFX"}[endian]
    return row(f"soundfile {name} {subtype}", file.getvalue(), (rate, samples.tolist()))


def of_wave():
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setparams((2, 2, RATE, 0, "NONE", None))
        out.writeframes((SAMPLES * 32768).clip(-32768, 32767).astype("<i2").tobytes())
    file.seek(0)
    with wave.open(file) as back:
        samples = numpy.frombuffer(back.readframes(100), "<i2").reshape(-1, 2) / 32768
        return row("wave", file.getvalue(), (back.getframerate(), samples.tolist()))


def of_ear(bits, axml, force):
    file = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        writer = Bw64Writer(file, FormatInfoChunk(channelCount=2, sampleRate=RATE, bitsPerSample=bits), forceBw64=force)
        # Set late, so that it stands behind the samples.
        writer.axml = axml
        # Its writer takes full scale for 2^(bits - 1) - 1.
        writer.write(SAMPLES * 2 ** (bits - 1) / (2 ** (bits - 1) - 1))
        writer.close()
        written = file.getvalue()
        file.seek(0)
        reader = Bw64Reader(file)
        samples = reader.read(100) * ((2 ** (bits - 1) - 1) / 2 ** (bits - 1))
    rounded = (samples * 2 ** (bits - 1)).round() / 2 ** (bits - 1)
    assert abs(rounded - samples).max() < 1e-12
    form = "BW64" if force else "RIFF"
    return row(f"ear {form} PCM_{bits}", written, (reader.sampleRate, rounded.tolist()))


rows = [of_soundfile(*which) for which in SOUNDFILE] + [of_wave()]
rows += [of_ear(*which) for which in EAR]
source = json.dumps(
    {
        "packages": ["soundfile", "ear", "wave"],
        "versions": [f"{soundfile.__version__} ({soundfile.__libsndfile_version__})", "2.1.0", sys.version.split()[0]],
        "date": datetime.date.today().isoformat(),
    }
)
lines = ",\n".join("    " + json.dumps(row) for row in rows)
print(f'{{\n  "source": {source},\n  "files": [\n{lines}\n  ]\n}}')
