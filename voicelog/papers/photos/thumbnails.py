"""Pictures made small enough for papers; the files they come from are only read."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from voicelog.errors import VoicelogError
from voicelog.papers.blocks import Picture
from voicelog.papers.letterhead import Letterhead

LOGO_PIXELS = (540, 192)
"""Largest width and height: 45 × 16 mm at 300 dots an inch."""
THUMBNAIL_PIXELS = (480, 360)


def logo_of(letterhead: Letterhead) -> Picture | None:
    """The workshop's logo; None where it has none.

    Raises:
        VoicelogError: the file is missing or no picture.
    """
    if letterhead.logo is None:
        return None
    return small_picture(letterhead.logo, LOGO_PIXELS, "", f"Logo of {letterhead.name}")


def small_picture(path: Path, largest: tuple[int, int], caption: str, describes: str) -> Picture:
    """A picture turned upright and made no larger than `largest` pixels, as JPEG without metadata.

    Raises:
        VoicelogError: the file cannot be read as a picture.
    """
    try:
        with Image.open(path) as opened:
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail(largest)
            flat = _on_white(upright)
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError, ValueError) as error:
        raise VoicelogError(
            "cannot be read as a picture", where=str(path), todo="give a PNG or JPEG file"
        ) from error
    buffer = io.BytesIO()
    flat.save(buffer, "JPEG", quality=82, optimize=True)
    return Picture(buffer.getvalue(), flat.width, flat.height, caption, describes)


def _on_white(image: Image.Image) -> Image.Image:
    """Without transparency, which JPEG does not have."""
    if image.mode in ("RGBA", "LA", "P", "PA"):
        image = image.convert("RGBA")
        white = Image.new("RGBA", image.size, "white")
        return Image.alpha_composite(white, image).convert("RGB")
    return image.convert("RGB")
