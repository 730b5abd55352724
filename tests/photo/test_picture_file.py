"""Good pictures and bad ones, made here with Pillow."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter, ImageOps

from bobweight.app.store.places import sample_curve
from bobweight.core.photo.picture_file import read_picture
from bobweight.core.problems import BobweightError


def picture(width: int = 320, height: int = 240) -> Image.Image:
    rng = np.random.default_rng(1)
    return Image.fromarray(rng.integers(0, 255, (height, width, 3), np.uint8))


def refused(path: Path) -> str:
    with pytest.raises(BobweightError) as told:
        read_picture(path)
    return told.value.problem.code


def test_a_scan_states_its_resolution(tmp_path: Path):
    path = tmp_path / "scan.png"
    picture().save(path, dpi=(300, 300))
    found = read_picture(path)
    assert (found.width_px, found.height_px) == (320, 240)
    assert found.dots_per_inch == pytest.approx(300, abs=0.01)
    assert found.is_scan
    assert found.grey().shape == (240, 320)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_stands_as_the_camera_was_held(tmp_path: Path, orientation: int):
    """Every pixel where Pillow's own turning puts it."""
    path = tmp_path / "phone.jpg"
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif.get_ifd(0x8769)[0xA405] = 26
    picture().save(path, exif=exif)
    found = read_picture(path)
    assert (found.width_px, found.height_px) == ((320, 240) if orientation < 5 else (240, 320))
    with Image.open(path) as opened:
        assert np.array_equal(found.rgb, np.asarray(ImageOps.exif_transpose(opened)))
    assert found.focal_35_mm == 26
    assert not found.is_scan


def test_other_kinds_of_colour_are_read(tmp_path: Path):
    for mode in ("CMYK", "L"):
        path = tmp_path / f"{mode}.jpg"
        picture().convert(mode).save(path)
        assert read_picture(path).rgb.shape == (240, 320, 3)
    for mode in ("RGBA", "P", "1", "LA"):
        path = tmp_path / f"{mode}.png"
        picture().convert(mode).save(path)
        assert read_picture(path).rgb.shape == (240, 320, 3)
    deep = Image.fromarray(np.full((240, 320), 40_000, np.uint16))
    deep.save(tmp_path / "deep.png")
    assert read_picture(tmp_path / "deep.png").grey()[0, 0] == 40_000 // 256


def test_bad_pictures_are_named(tmp_path: Path):
    assert refused(tmp_path / "none.png") == "file-missing"
    small = tmp_path / "small.png"
    picture(20, 20).save(small)
    assert refused(small) == "picture-too-small"
    text = tmp_path / "text.png"
    text.write_text("not a picture")
    assert refused(text) == "not-a-picture"
    whole = tmp_path / "whole.jpg"
    picture().save(whole)
    (tmp_path / "half.jpg").write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert refused(tmp_path / "half.jpg") == "picture-damaged"
    moving = tmp_path / "moving.png"
    picture().save(moving, save_all=True, append_images=[picture().rotate(90)])
    assert refused(moving) == "picture-moves"
    folder = tmp_path / "folder.png"
    folder.mkdir()
    assert refused(folder) == "not-a-picture"


@pytest.mark.parametrize("side", [10_000, 100_000])
def test_a_bomb_is_refused_by_its_header(tmp_path: Path, side: int):
    """100 million pixels and 10,000 million, a few bytes on disk."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data
            + struct.pack(">I", zlib.crc32(kind + data))
        )  # fmt: skip

    path = tmp_path / "bomb.png"
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )  # fmt: skip
    start = time.perf_counter()
    assert refused(path) in ("picture-too-large", "picture-far-too-large")
    assert time.perf_counter() - start < 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe.png")
    assert refused(tmp_path / "pipe.png") == "not-a-picture"


_CHILD = """
import re, sys, time
from bobweight.core.photo.find_card import find_card
from bobweight.core.photo.picture_file import read_picture
from bobweight.core.problems import BobweightError

for path in sys.argv[1:]:
    began = time.process_time()
    try:
        grey = read_picture(path).grey()
        told = "read" if grey.size > 1e7 else f"marks-{len(find_card(grey).index)}"
    except BobweightError as error:
        told = error.problem.code
    print(told, time.process_time() - began)
with open("/proc/self/status") as status:  # what getrusage tells holds the process that forked
    print("peak", re.search(r"VmHWM:\\s+(\\d+)", status.read())[1])
"""
"""What becomes of each picture with the seconds it takes, and the most memory held (KiB)."""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory by /proc")
def test_no_picture_takes_long_or_a_gigabyte(tmp_path: Path):
    """The card is found lying on its side and in the colours of print; without it and out
    of focus it is missed in seconds; the largest picture that is taken is read, turned as well."""
    with Image.open(sample_curve("open_unit.jpg")) as opened:
        unit = opened.convert("RGB").resize((1000, 750))
    turned = Image.Exif()
    turned[0x0112] = 6
    made = {
        "side.jpg": (unit.rotate(90, expand=True), "marks-8"),
        "print.jpg": (unit.convert("CMYK"), "marks-8"),
        "blurred.jpg": (unit.filter(ImageFilter.GaussianBlur(20)), "no-card"),
        "without.png": (picture(), "no-card"),
        "small.png": (picture(20, 20), "picture-too-small"),
        "largest.jpg": (Image.new("RGB", (7000, 7000), "grey"), "read"),
        "too large.png": (Image.new("1", (10_000, 10_000)), "picture-too-large"),
        "far too large.png": (Image.new("1", (20_000, 20_000)), "picture-far-too-large"),
    }
    for name, (image, _) in made.items():
        image.save(tmp_path / name, **({"exif": turned} if name == "largest.jpg" else {}))
    answer = subprocess.run(
        [sys.executable, "-c", _CHILD, *(tmp_path / name for name in made)],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    *told, peak = (line.split() for line in answer.stdout.splitlines())
    assert [code for code, _ in told] == [code for _, code in made.values()]
    assert max(float(seconds) for _, seconds in told) < 10
    assert int(peak[1]) * 1024 < 7e8  # the window that shows it holds 0.2 GB more
