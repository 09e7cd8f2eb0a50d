//! The mark of a shop, for the head of its reports. It is drawn and coded anew, so that nothing of the file but the
//! picture reaches a customer.

use std::io::Cursor;

use image::ImageEncoder;
use image::codecs::png::PngEncoder;

use super::recognised::{NotTaken, recognised};
use super::small::{LARGEST_SMALL, SIDE, drawn, small};
use super::{jpeg, png};
use bench::row::PaperType;

/// The most bytes of a file with a mark.
pub const LARGEST_MARK: u64 = 1 << 20;
/// The most pixels of a mark: a small file may hold a huge picture.
const MOST_PIXELS: u64 = 16_000_000;

const EXPORT: &str = "save or export it as PNG or JPEG";

/// A mark as a page holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Of what type it is, as a page names it.
    pub media: &'static str,
    /// A file that says nothing but the picture.
    pub bytes: Vec<u8>,
    /// Its width, pixels.
    pub width: u32,
    /// Its height, pixels.
    pub height: u32,
}

/// The mark that a file holds. What lets the paper show through in a PNG file still does.
///
/// # Errors
/// It is no PNG or JPEG picture, is damaged, or is too large to be drawn.
pub fn mark(bytes: &[u8]) -> Result<Mark, NotTaken> {
    let not = |what: String| NotTaken { what, hint: EXPORT };
    if bytes.len() as u64 > LARGEST_MARK {
        return Err(not(format!("it has {} bytes", bytes.len())));
    }
    let kind = recognised(bytes).map_err(|wrong| not(wrong.what))?;
    let (width, height) = match kind {
        PaperType::Jpeg => jpeg::shape(bytes).map(|(width, height, ..)| (width, height)),
        PaperType::Png => png::shape(bytes).map(|(width, height, _)| (width, height)),
        PaperType::Pdf => Err("it is a PDF".to_owned()),
    }
    .map_err(not)?;
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(not(format!("with {width} by {height} pixels it is too large")));
    }
    if kind == PaperType::Png
        && let Some(mark) = see_through(bytes).map_err(not)?
    {
        return Ok(mark);
    }
    let small = small(bytes, kind).map_err(not)?;
    let (media, width, height) = (PaperType::Jpeg.media(), small.width, small.height);
    Ok(Mark { media, bytes: small.jpeg, width, height })
}

/// A PNG file coded anew as one; `None` where that becomes too large.
fn see_through(bytes: &[u8]) -> Result<Option<Mark>, String> {
    let cannot = |error: image::ImageError| format!("it cannot be drawn: {error}");
    let picture = drawn(bytes, PaperType::Png).map_err(cannot)?;
    let large = picture.width().max(picture.height()) > SIDE;
    let picture = if large { picture.thumbnail(SIDE, SIDE) } else { picture }.to_rgba8();
    let (width, height) = picture.dimensions();
    let mut bytes = Vec::new();
    PngEncoder::new(Cursor::new(&mut bytes))
        .write_image(picture.as_raw(), width, height, image::ExtendedColorType::Rgba8)
        .map_err(cannot)?;
    let mark = Mark { media: PaperType::Png.media(), bytes, width, height };
    Ok((mark.bytes.len() <= LARGEST_SMALL).then_some(mark))
}
