"""Writes the photographs of `photos/`, eight grey pixels each, with what cameras write beside the picture.

piexif 1.1.3 (the Exif itself, and JPEG, WebP), Pillow 13.0.0 (PNG, TIFF) and pillow-heif 1.8.1 (HEIC, by libheif).
Run by hand; the files are kept. Every place and time in them is invented.
"""

import io
import pathlib

import piexif
import pillow_heif
from PIL import Image

OUT = pathlib.Path(__file__).parent / "photos"
OUT.mkdir(exist_ok=True)
GREY = Image.new("RGB", (8, 8), (128, 128, 128))


def degrees(value):
    value = abs(value)
    whole = int(value)
    minutes = int((value - whole) * 60)
    seconds = round((value - whole - minutes / 60) * 3600 * 10000)
    return ((whole, 1), (minutes, 1), (seconds, 10000))


def exif(taken=None, offset=None, at=None, satellite=None, camera=b"invented camera", error=None, text=None):
    zeroth, photo, gps = {piexif.ImageIFD.Make: b"Invented", piexif.ImageIFD.Model: camera}, {}, {}
    if text:
        zeroth[piexif.ImageIFD.ImageDescription] = text
    if taken:
        photo[piexif.ExifIFD.DateTimeOriginal] = taken
    if offset:
        photo[piexif.ExifIFD.OffsetTimeOriginal] = offset
    if at:
        lon, lat = at
        gps[piexif.GPSIFD.GPSLatitude], gps[piexif.GPSIFD.GPSLongitude] = degrees(lat), degrees(lon)
        gps[piexif.GPSIFD.GPSLatitudeRef] = b"S" if lat < 0 else b"N"
        gps[piexif.GPSIFD.GPSLongitudeRef] = b"W" if lon < 0 else b"E"
    if satellite:
        date, hour, minute, second = satellite
        gps[piexif.GPSIFD.GPSDateStamp] = date
        gps[piexif.GPSIFD.GPSTimeStamp] = ((hour, 1), (minute, 1), (second, 1))
    if error:
        gps[piexif.GPSIFD.GPSHPositioningError] = (error, 1)
    return piexif.dump({"0th": zeroth, "Exif": photo, "GPS": gps})


def jpeg(name, **what):
    out = io.BytesIO()
    GREY.save(out, "JPEG", quality=30)
    piexif.insert(exif(**what), out.getvalue(), str(OUT / name))


AT = (-20.0003, 45.0004)
# A telephone: position, zone and satellites' time.
PHONE = dict(taken=b"2024:05:01 11:02:03", offset=b"+01:00", at=AT, satellite=(b"2024:05:01", 10, 2, 0), error=4, text=b"by the groyne")
jpeg("phone.jpg", **PHONE)
# The same by a camera that states no zone: the satellites' time counts, and tells how far its clock is ahead.
jpeg("no_zone.jpg", taken=b"2024:05:01 11:04:33", at=AT, satellite=(b"2024:05:01", 10, 2, 3))
# The same camera without a position, twelve minutes later by its clock.
jpeg("no_place.jpg", taken=b"2024:05:01 11:16:33")
# Another camera that says neither where nor in which zone.
jpeg("bare.jpg", taken=b"2024:05:01 11:05:00", camera=b"another camera")
jpeg("zero.jpg", taken=b"2024:05:01 11:05:00", offset=b"+01:00", at=(0, 0))
jpeg("nothing.jpg")
pillow_heif.register_heif_opener()
GREY.save(OUT / "phone.heic", exif=exif(**PHONE), quality=30)
GREY.save(OUT / "phone.png", exif=exif(**PHONE))
GREY.save(OUT / "phone.webp", exif=exif(**PHONE))
tiff = Image.Exif()
tiff.load(exif(**PHONE))
GREY.save(OUT / "phone.tif", exif=tiff)
