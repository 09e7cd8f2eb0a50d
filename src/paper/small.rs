//! The small picture of a large one, for a page.

use std::io::Cursor;

use image::codecs::jpeg::{JpegDecoder, JpegEncoder};
use image::codecs::png::PngDecoder;
use image::metadata::Orientation;
use image::{DynamicImage, ExtendedColorType, ImageDecoder, ImageResult, Limits, RgbImage};

use super::{jpeg, png};
use bench::row::PaperType;

/// The longer side of a small picture, pixels.
pub(super) const SIDE: u32 = 480;
/// The most pixels of a picture that is made small: most cameras have fewer.
pub const MOST_PIXELS: u64 = 64_000_000;
/// The most memory that a picture may take while it is drawn, in bytes.
const MOST_MEMORY: u64 = 512 << 20;
/// The most scans of a JPEG file that is drawn: each draws the whole picture again, and a usual one has a
/// dozen at most.
const MOST_SCANS: usize = 64;
/// The most bytes of a small picture.
pub const LARGEST_SMALL: usize = 128 << 10;
/// How finely it is coded, of 100. Common practice, no source.
const QUALITY: [u8; 3] = [78, 55, 30];

/// A small picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Small {
    /// A JPEG file that says nothing but the picture.
    pub jpeg: Vec<u8>,
    /// Its width, pixels.
    pub width: u32,
    /// Its height, pixels.
    pub height: u32,
}

/// Makes the small picture of a JPEG or PNG file, the right way up.
///
/// # Errors
/// A sentence: it cannot be drawn, or it is too large for that.
pub fn small(bytes: &[u8], kind: PaperType) -> Result<Small, String> {
    let (width, height, orientation) = match kind {
        PaperType::Jpeg => {
            let (width, height, scans, orientation) = jpeg::shape(bytes)?;
            if scans > MOST_SCANS {
                return Err(format!("it draws itself {scans} times over"));
            }
            (width, height, orientation)
        }
        PaperType::Png => png::shape(bytes)?,
        PaperType::Pdf => return Err("a PDF has no small picture".to_owned()),
    };
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(format!("with {width} by {height} pixels it is too large to be drawn small"));
    }
    let drawn = drawn(bytes, kind).map_err(|error| format!("it cannot be drawn: {error}"))?;
    let mut little = if width.max(height) > SIDE { drawn.thumbnail(SIDE, SIDE) } else { drawn };
    if let Some(orientation) = Orientation::from_exif(orientation) {
        little.apply_orientation(orientation);
    }
    coded(&on_white(&little))
}

pub(super) fn drawn(bytes: &[u8], kind: PaperType) -> ImageResult<DynamicImage> {
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    let from = Cursor::new(bytes);
    if kind == PaperType::Png {
        return DynamicImage::from_decoder(PngDecoder::with_limits(from, limits)?);
    }
    let mut decoder = JpegDecoder::new(from)?;
    decoder.set_limits(limits)?;
    DynamicImage::from_decoder(decoder)
}

/// The picture on white paper, where it lets something show through.
fn on_white(picture: &DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let picture = picture.to_rgba8();
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        let [red, green, blue, alpha] = picture.get_pixel(x, y).0;
        let over = |part: u8| {
            let (part, alpha) = (u32::from(part), u32::from(alpha));
            u8::try_from((part * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX)
        };
        image::Rgb([over(red), over(green), over(blue)])
    })
}

fn coded(picture: &RgbImage) -> Result<Small, String> {
    let (width, height) = picture.dimensions();
    for quality in QUALITY {
        let mut jpeg = Vec::new();
        let written = JpegEncoder::new_with_quality(&mut jpeg, quality).encode(
            picture,
            width,
            height,
            ExtendedColorType::Rgb8,
        );
        written.map_err(|error| format!("it cannot be made small: {error}"))?;
        if jpeg.len() <= LARGEST_SMALL {
            return Ok(Small { jpeg, width, height });
        }
    }
    Err("it does not become small enough".to_owned())
}
