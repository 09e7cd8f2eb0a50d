//! The segments of a JPEG file (ITU-T T.81, annex B; JFIF: ITU-T T.871).

use std::ops::Range;

use super::exif;

/// Markers by their second byte.
const SOI: u8 = 0xd8;
const EOI: u8 = 0xd9;
const SOS: u8 = 0xda;
const APP0: u8 = 0xe0;
const APP1: u8 = 0xe1;
const APP14: u8 = 0xee;
/// The tables and headers without which a picture cannot be drawn: quantisation and Huffman tables, the
/// conditioning of arithmetic coding, the number of lines, the restart interval, the hierarchy.
const NEEDED: [u8; 6] = [0xdb, 0xc4, 0xcc, 0xdc, 0xdd, 0xde];
/// The beginning of the segment with the orientation, and with everything else that a camera says.
const EXIF: &[u8] = b"Exif\0\0";

/// The sentence about a file that ends too early.
pub(crate) const CUT_OFF: &str = "it is a JPEG picture that is cut off: its end is missing";

/// A segment: its marker, its content, and the coded lines that follow the header of a scan.
struct Segment {
    marker: u8,
    content: Range<usize>,
    coded: Range<usize>,
}

/// The segments of a file, in order, without the two that begin and end it.
struct Segments {
    all: Vec<Segment>,
    /// Width and height in pixels.
    size: (u16, u16),
}

impl Segments {
    fn scans(&self) -> usize {
        self.all.iter().filter(|segment| segment.marker == SOS).count()
    }
}

fn is_frame(marker: u8) -> bool {
    matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc)
}

fn damaged(at: usize) -> String {
    format!("it begins as a JPEG picture and is damaged at byte {at}")
}

fn segments(bytes: &[u8]) -> Result<Segments, String> {
    let mut all = Vec::new();
    let (mut at, mut size) = (2, None);
    loop {
        let marker = marker(bytes, &mut at)?;
        match marker {
            EOI => break,
            0xd0..=0xd7 | 0 | 1 | SOI => return Err(damaged(at)),
            _ => {}
        }
        let length = bytes.get(at..).and_then(<[u8]>::first_chunk).ok_or(CUT_OFF)?;
        let length = usize::from(u16::from_be_bytes(*length));
        if length < 2 {
            return Err(damaged(at));
        }
        let content = at + 2..at + length;
        let body = bytes.get(content.clone()).ok_or(CUT_OFF)?;
        if is_frame(marker) {
            size = Some(dimensions(body).ok_or_else(|| damaged(at))?);
        }
        at += length;
        let coded = if marker == SOS { at..end_of_lines(bytes, at)? } else { at..at };
        at = coded.end;
        all.push(Segment { marker, content, coded });
    }
    let found = all.iter().any(|segment| segment.marker == SOS && !segment.coded.is_empty());
    match size.filter(|_| found) {
        Some(size) => Ok(Segments { all, size }),
        None => Err("it is a JPEG file without a picture in it".to_owned()),
    }
}

/// The next marker; any number of fill bytes may stand before it.
fn marker(bytes: &[u8], at: &mut usize) -> Result<u8, String> {
    if *bytes.get(*at).ok_or(CUT_OFF)? != 0xff {
        return Err(damaged(*at));
    }
    loop {
        *at += 1;
        match *bytes.get(*at).ok_or(CUT_OFF)? {
            0xff => {}
            marker => {
                *at += 1;
                return Ok(marker);
            }
        }
    }
}

/// Width and height, neither of them zero.
fn dimensions(frame: &[u8]) -> Option<(u16, u16)> {
    let height = u16::from_be_bytes(*frame.get(1..)?.first_chunk()?);
    let width = u16::from_be_bytes(*frame.get(3..)?.first_chunk()?);
    (width > 0 && height > 0).then_some((width, height))
}

/// Where the coded lines of a scan end: at the next marker that is neither a stuffed byte nor a restart.
fn end_of_lines(bytes: &[u8], from: usize) -> Result<usize, String> {
    let mut at = from;
    loop {
        let rest = bytes.get(at..).unwrap_or_default();
        at += rest.iter().position(|byte| *byte == 0xff).ok_or(CUT_OFF)?;
        match *bytes.get(at + 1).ok_or(CUT_OFF)? {
            0 | 0xd0..=0xd7 => at += 2,
            0xff => at += 1,
            _ => return Ok(at),
        }
    }
}

/// Whether the bytes begin as a JPEG file does.
pub(crate) fn begins(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, SOI, 0xff])
}

/// Checks that the file is whole.
pub(crate) fn check(bytes: &[u8]) -> Result<(), String> {
    segments(bytes).map(drop)
}

/// Width and height in pixels, how many scans draw the picture, and which way up it is shown.
pub(crate) fn shape(bytes: &[u8]) -> Result<(u32, u32, usize, u8), String> {
    let found = segments(bytes)?;
    let (width, height) = found.size;
    Ok((width.into(), height.into(), found.scans(), orientation(bytes, &found)))
}

fn orientation(bytes: &[u8], found: &Segments) -> u8 {
    let blocks = found.all.iter().filter(|segment| segment.marker == APP1);
    let mut blocks =
        blocks.filter_map(|segment| bytes.get(segment.content.clone())?.strip_prefix(EXIF));
    blocks.next().map_or(exif::UPRIGHT, exif::orientation)
}

/// The picture with what is needed to draw it, and nothing else: no Exif, XMP, IPTC, colour profile,
/// remark, preview, or anything after its end. Which way up it is shown stays.
pub(crate) fn bare(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let found = segments(bytes)?;
    let mut bare = vec![0xff, SOI];
    let mut density = found.all.iter().filter(|segment| segment.marker == APP0);
    if let Some(header) = density.find_map(|segment| jfif(bytes.get(segment.content.clone())?)) {
        put(&mut bare, APP0, &header);
    }
    let orientation = orientation(bytes, &found);
    if orientation != exif::UPRIGHT {
        put(&mut bare, APP1, &[EXIF, &exif::only(orientation)].concat());
    }
    for segment in &found.all {
        let content = bytes.get(segment.content.clone()).unwrap_or_default();
        if segment.marker == APP14 {
            // Says how the colours are coded; without it some pictures come out in false colours.
            if let Some(adobe) = content.get(..12).filter(|_| content.starts_with(b"Adobe")) {
                put(&mut bare, APP14, adobe);
            }
        } else if is_frame(segment.marker) || NEEDED.contains(&segment.marker) {
            put(&mut bare, segment.marker, content);
        } else if segment.marker == SOS {
            put(&mut bare, SOS, content);
            bare.extend(bytes.get(segment.coded.clone()).unwrap_or_default());
        }
    }
    bare.extend([0xff, EOI]);
    Ok(bare)
}

/// The header of JFIF without its preview.
fn jfif(content: &[u8]) -> Option<Vec<u8>> {
    let plain = content.get(..12).filter(|_| content.starts_with(b"JFIF\0"))?;
    Some([plain, &[0, 0]].concat())
}

fn put(to: &mut Vec<u8>, marker: u8, content: &[u8]) {
    let length = u16::try_from(content.len() + 2).expect("it had a length of 16 bits");
    to.extend([0xff, marker]);
    to.extend(length.to_be_bytes());
    to.extend(content);
}
