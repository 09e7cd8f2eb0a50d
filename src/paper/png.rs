//! The chunks of a PNG file (W3C "Portable Network Graphics (PNG) Specification", third edition, section 5).

use std::ops::Range;

use super::exif;

const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";
/// What a picture is drawn with, and how its numbers become colours.
const NEEDED: [&[u8; 4]; 9] =
    [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT"];

/// The sentence about a file that ends too early.
pub(crate) const CUT_OFF: &str = "it is a PNG picture that is cut off: its end is missing";

struct Chunk<'a> {
    name: [u8; 4],
    content: &'a [u8],
    /// With its length and its sum.
    whole: Range<usize>,
}

struct Chunks<'a> {
    all: Vec<Chunk<'a>>,
    size: (u32, u32),
}

fn damaged(at: usize) -> String {
    format!("it begins as a PNG picture and is damaged at byte {at}")
}

fn chunks(bytes: &[u8]) -> Result<Chunks<'_>, String> {
    let mut all: Vec<Chunk<'_>> = Vec::new();
    let (mut at, mut size) = (SIGNATURE.len(), None);
    loop {
        let (length, name) = (number(bytes, at).ok_or(CUT_OFF)?, at + 4);
        let length = usize::try_from(length).ok().filter(|length| i32::try_from(*length).is_ok());
        let length = length.ok_or_else(|| damaged(at))?;
        let (content, end) = (at + 8..at + 8 + length, at + 12 + length);
        let sum = number(bytes, content.end);
        let summed = bytes.get(name..content.end).ok_or(CUT_OFF)?;
        if sum.ok_or(CUT_OFF)? != crc(summed) {
            return Err(damaged(at));
        }
        let name = *summed.first_chunk().ok_or(CUT_OFF)?;
        let content = bytes.get(content).unwrap_or_default();
        match (&name, all.is_empty()) {
            (b"IHDR", true) => size = Some(dimensions(content).ok_or_else(|| damaged(at))?),
            (b"IHDR", false) | (_, true) => return Err(damaged(at)),
            (_, false) => {}
        }
        all.push(Chunk { name, content, whole: at..end });
        at = end;
        if name == *b"IEND" {
            break;
        }
    }
    let drawn = all.iter().any(|chunk| chunk.name == *b"IDAT");
    match size.filter(|_| drawn) {
        Some(size) => Ok(Chunks { all, size }),
        None => Err("it is a PNG file without a picture in it".to_owned()),
    }
}

fn number(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn dimensions(header: &[u8]) -> Option<(u32, u32)> {
    let (width, height) = (number(header, 0)?, number(header, 4)?);
    (header.len() == 13 && width > 0 && height > 0).then_some((width, height))
}

/// The sum of a chunk: CRC-32 as in annex D of the specification.
fn crc(bytes: &[u8]) -> u32 {
    const TABLE: [u32; 256] = {
        let mut table = [0_u32; 256];
        let (mut index, mut start) = (0, 0_u32);
        while index < 256 {
            let (mut value, mut bit) = (start, 0);
            while bit < 8 {
                value = if value & 1 == 1 { 0xedb8_8320 ^ (value >> 1) } else { value >> 1 };
                bit += 1;
            }
            table[index] = value;
            index += 1;
            start += 1;
        }
        table
    };
    let step = |sum: u32, byte: &u8| TABLE[((sum ^ u32::from(*byte)) & 0xff) as usize] ^ (sum >> 8);
    !bytes.iter().fold(u32::MAX, step)
}

/// Whether the bytes begin as a PNG file does.
pub(crate) fn begins(bytes: &[u8]) -> bool {
    bytes.starts_with(SIGNATURE)
}

/// Checks that the file is whole and every chunk is the one its sum is of.
pub(crate) fn check(bytes: &[u8]) -> Result<(), String> {
    chunks(bytes).map(drop)
}

/// Width and height in pixels, and which way up it is shown.
pub(crate) fn shape(bytes: &[u8]) -> Result<(u32, u32, u8), String> {
    let found = chunks(bytes)?;
    let (width, height) = found.size;
    Ok((width, height, orientation(&found)))
}

fn orientation(found: &Chunks<'_>) -> u8 {
    let block = found.all.iter().find(|chunk| chunk.name == *b"eXIf");
    block.map_or(exif::UPRIGHT, |chunk| exif::orientation(chunk.content))
}

/// The picture with what is needed to draw it, and nothing else: no Exif, text, time, colour profile,
/// animation, or anything after its end. Which way up it is shown stays.
pub(crate) fn bare(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let found = chunks(bytes)?;
    let orientation = orientation(&found);
    let mut bare = SIGNATURE.to_vec();
    for chunk in found.all.iter().filter(|chunk| NEEDED.contains(&&chunk.name)) {
        bare.extend(bytes.get(chunk.whole.clone()).unwrap_or_default());
        if chunk.name == *b"IHDR" && orientation != exif::UPRIGHT {
            put(&mut bare, *b"eXIf", &exif::only(orientation));
        }
    }
    Ok(bare)
}

/// Writes a chunk.
pub(crate) fn put(to: &mut Vec<u8>, name: [u8; 4], content: &[u8]) {
    let length = u32::try_from(content.len()).expect("a block of some bytes");
    let summed = [&name[..], content].concat();
    to.extend(length.to_be_bytes());
    to.extend(&summed);
    to.extend(crc(&summed).to_be_bytes());
}
