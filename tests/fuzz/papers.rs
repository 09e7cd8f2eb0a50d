//! Files that are attached: whatever the bytes are, they are recognised or refused with a sentence; what is handed
//! on is whole, says nothing more, and can be drawn where the original can.

use proptest::prelude::*;

use crate::mutate::{Bytes, changed, corpus, tried};
use bench::row::PaperType;

/// One of each, with everything in it that a camera writes.
fn samples() -> Vec<Vec<u8>> {
    let picture = image::RgbImage::from_fn(40, 24, |x, y| {
        let part = |at: u32| u8::try_from(at % 256).unwrap();
        image::Rgb([part(x * 5), part(y * 9), part(x ^ y)])
    });
    let mut jpeg = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut jpeg).encode_image(&picture).unwrap();
    let exif = b"Exif\0\0II*\0\x08\0\0\0\x02\0\x0f\x01\x02\0\x06\0\0\0\x26\0\0\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0MAKERX";
    let segment = |marker: u8, content: &[u8]| {
        let length = u16::try_from(content.len() + 2).unwrap().to_be_bytes();
        [&[0xff, marker][..], &length, content].concat()
    };
    let said = [
        segment(0xe1, exif),
        segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<x/>"),
        segment(0xe2, b"ICC_PROFILE\0\x01\x01"),
        segment(0xee, b"Adobe\0\x64\0\0\0\0\0"),
        segment(0xfe, b"remark"),
    ]
    .concat();
    let loud = [&jpeg[..2], &said, &jpeg[2..], b"more after the end"].concat();
    let mut png = Vec::new();
    let form = image::ImageFormat::Png;
    picture.write_to(&mut std::io::Cursor::new(&mut png), form).unwrap();
    let pdf =
        b"%PDF-1.4\n1 0 obj <<>> endobj\nxref\n0 1\ntrailer <<>>\nstartxref\n29\n%%EOF\n".to_vec();
    vec![jpeg, loud, png, pdf]
}

fn holds(bytes: &[u8]) -> Result<(), TestCaseError> {
    let kind = match paper::recognised(bytes) {
        Err(why) => {
            prop_assert!(!why.what.is_empty() && !why.hint.is_empty());
            return Ok(());
        }
        Ok(kind) => kind,
    };
    let bare = paper::bare(bytes, kind).unwrap();
    prop_assert_eq!(paper::recognised(&bare), Ok(kind));
    prop_assert_eq!(&paper::bare(&bare, kind).unwrap(), &bare, "nothing is left to take out");
    if kind != PaperType::Pdf {
        prop_assert!(bare.len() <= bytes.len() + 64);
        for word in [&b"MAKER"[..], b"remark", b"ICC_PROFILE", b"ns.adobe"] {
            // A change may have put the word into the dots themselves, but not before them.
            let head = bare.get(..40).unwrap_or_default();
            prop_assert!(!head.windows(word.len()).any(|at| at == word));
        }
        let (one, other) = (paper::small(bytes, kind), paper::small(&bare, kind));
        prop_assert_eq!(one.is_ok(), other.is_ok(), "{:?} {:?}", one.err(), other.err());
    }
    Ok(())
}

#[test]
fn attached_files() {
    let samples = corpus(samples());
    for sample in samples {
        assert!(paper::recognised(sample).is_ok());
    }
    tried("attached files", &changed(samples), |Bytes(bytes)| holds(&bytes));
}
