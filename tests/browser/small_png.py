"""A picture with at most 256 colors, as a PNG of a third of the size: the most frequent ones, others to the nearest."""

from __future__ import annotations

import base64
import struct
import zlib
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from playwright.sync_api import Browser

COLORS = 256
_PIXELS = """async (png) => {
  const image = await createImageBitmap(await (await fetch(`data:image/png;base64,${png}`)).blob());
  const canvas = new OffscreenCanvas(image.width, image.height);
  const context = canvas.getContext("2d");
  context.drawImage(image, 0, 0);
  const data = context.getImageData(0, 0, image.width, image.height).data;
  let text = "";
  for (let at = 0; at < data.length; at += 32768) text += String.fromCharCode(...data.subarray(at, at + 32768));
  return [image.width, image.height, btoa(text)];
}"""


def smaller(browser: Browser, png: bytes) -> bytes:
    """The same picture with a palette; the browser reads the one it took."""
    page = browser.new_page()
    wide, high, text = page.evaluate(_PIXELS, base64.b64encode(png).decode())
    page.close()
    pixels = np.frombuffer(base64.b64decode(text), np.uint8).reshape(high, wide, 4)[:, :, :3]
    return _written(*_with_palette(pixels))


def _with_palette(pixels: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Rows of places in a palette, and the palette."""
    flat = pixels.reshape(-1, 3)
    colors, which, counts = np.unique(flat, axis=0, return_inverse=True, return_counts=True)
    palette = colors[np.argsort(-counts, kind="stable")[:COLORS]]
    distance = ((colors[:, None, :].astype(np.int32) - palette[None].astype(np.int32)) ** 2).sum(axis=2)
    nearest = distance.argmin(axis=1).astype(np.uint8)
    return nearest[which.reshape(-1)].reshape(pixels.shape[:2]), palette


def _written(rows: NDArray[np.uint8], palette: NDArray[np.uint8]) -> bytes:
    """PNG, ISO/IEC 15948: header, palette, rows without a filter, end."""
    high, wide = rows.shape
    raw = np.hstack([np.zeros((high, 1), np.uint8), rows]).tobytes()

    def chunks() -> Iterator[bytes]:
        for kind, data in (
            (b"IHDR", struct.pack(">IIBBBBB", wide, high, 8, 3, 0, 0, 0)),
            (b"PLTE", palette.tobytes()),
            (b"IDAT", zlib.compress(raw, 9)),
            (b"IEND", b""),
        ):
            yield struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks())
