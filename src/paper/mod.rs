//! Pictures and papers that are attached to a job: which type they are by their bytes, what is taken out of
//! them before they are handed on, and the small picture of a large one. Bytes in, bytes out.
//!
//! What is absent: opening a file, and the name of a file as a witness of its type.

mod base64;
mod exif;
mod jpeg;
mod mark;
mod pdf;
mod png;
mod recognised;
mod small;

pub use base64::data_uri;
pub use mark::{LARGEST_MARK, Mark, mark};
pub use recognised::{NotTaken, recognised};
pub use small::{LARGEST_SMALL, MOST_PIXELS, Small, small};

use bench::row::PaperType;

/// The same picture without what it says of place, time, device and maker. Which way up it is shown stays. A
/// PDF is returned as it is: nothing inside it is removed.
///
/// # Errors
/// It is not of that type, or damaged.
pub fn bare(bytes: &[u8], kind: PaperType) -> Result<Vec<u8>, String> {
    match kind {
        PaperType::Jpeg => Ok(jpeg::bare(bytes)?),
        PaperType::Png => Ok(png::bare(bytes)?),
        PaperType::Pdf => {
            pdf::check(bytes)?;
            Ok(bytes.to_vec())
        }
    }
}

#[cfg(test)]
mod tests;
