use image::{ImageBuffer, ImageEncoder as _, Rgb, RgbImage};
use proptest::prelude::*;

use super::*;

/// A picture with a red left upper corner, so that one sees which way up it is.
fn picture(width: u32, height: u32) -> RgbImage {
    ImageBuffer::from_fn(width, height, |x, y| {
        if x < width / 4 && y < height / 4 { Rgb([220, 20, 20]) } else { Rgb([40, 60, 200]) }
    })
}

fn jpeg_of(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 90)
        .encode_image(&picture(width, height))
        .unwrap();
    bytes
}

fn png_of(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let picture = picture(width, height);
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&picture, width, height, image::ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

/// A segment of a JPEG file.
fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).unwrap();
    [&[0xff, marker], &length.to_be_bytes()[..], content].concat()
}

/// An Exif block as a camera writes it: maker, orientation, and a directory of a place (tags 0x010f,
/// 0x0112 and 0x8825 of CIPA DC-008).
fn exif_block(orientation: u8) -> Vec<u8> {
    let mut block = b"II*\0\x08\0\0\0\x03\0".to_vec();
    block.extend(b"\x0f\x01\x02\0\x08\0\0\0\x32\0\0\0");
    block.extend([0x12, 1, 3, 0, 1, 0, 0, 0, orientation, 0, 0, 0]);
    block.extend(b"\x25\x88\x04\0\x01\0\0\0\x3a\0\0\0");
    block.extend([0, 0, 0, 0]);
    block.extend(b"MAKERXX\0GPSDATA 51.0504N");
    block
}

const PRIVATE: [&[u8]; 8] = [
    b"MAKERXX",
    b"GPSDATA",
    b"ns.adobe.com/xap",
    b"Photoshop 3.0",
    b"ICC_PROFILE",
    b"a remark",
    b"JFXX",
    b"MOTION",
];

/// A JPEG file with everything that a camera says in it.
fn loud_jpeg(orientation: u8) -> Vec<u8> {
    let plain = jpeg_of(64, 32);
    let said = [
        segment(0xe1, &[b"Exif\0\0", &exif_block(orientation)[..]].concat()),
        segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"),
        segment(0xed, b"Photoshop 3.0\x008BIM"),
        segment(0xe2, b"ICC_PROFILE\0\x01\x01"),
        segment(0xe0, b"JFXX\0\x10"),
        segment(0xfe, b"a remark"),
    ]
    .concat();
    let (head, rest) = plain.split_at(20);
    [head, &said, rest, b"MOTION film after the end"].concat()
}

fn holds(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|at| at == word)
}

fn drawn(bytes: &[u8]) -> RgbImage {
    image::load_from_memory(bytes).unwrap().to_rgb8()
}

#[test]
fn a_type_is_known_by_the_bytes() {
    assert_eq!(recognised(&jpeg_of(8, 8)), Ok(PaperType::Jpeg));
    assert_eq!(recognised(&loud_jpeg(6)), Ok(PaperType::Jpeg));
    assert_eq!(recognised(&png_of(8, 8)), Ok(PaperType::Png));
    let pdf = b"%PDF-1.4\n1 0 obj <<>> endobj\nxref\n0 1\ntrailer <<>>\nstartxref\n29\n%%EOF\n";
    assert_eq!(recognised(pdf), Ok(PaperType::Pdf));
    for (bytes, says) in [
        (&b""[..], "it is empty"),
        (b"\x7fELF\x02\x01\x01", "it is a program"),
        (b"MZ\x90\0", "it is a program"),
        (b"#!/bin/sh\nrm -rf", "it is a script"),
        (b"<svg xmlns=''><script/></svg>", "it is an SVG drawing, which can hold a program"),
        (
            b"\xef\xbb\xbf <?xml version='1.0'?><svg/>",
            "it is an SVG drawing, which can hold a program",
        ),
        (b"<!DOCTYPE html><p>", "it is a web page"),
        (b"GIF89a", "it is a GIF picture"),
        (b"RIFF\0\0\0\0WEBPVP8 ", "it is a WebP picture"),
        (b"\0\0\0\x18ftypheic", "it is a HEIC picture"),
        (b"\0\0\0\x18ftypisom", "it is a film"),
        (b"PK\x03\x04", "it is a ZIP archive, or a document that is one"),
        (b"alert('x')", "it is a text"),
        (b"\x01\x02\x03", "it is no picture and no PDF"),
        (b"%PDF-x.4\n", "it begins as a PDF and names no version of it"),
        (
            b"%PDF-1.4\nstartxref\n900\n%%EOF\n",
            "it is a PDF that is damaged: its table of contents is not where it says",
        ),
    ] {
        assert_eq!(recognised(bytes).unwrap_err().what, says);
    }
}

#[test]
fn a_file_that_is_cut_off_is_not_taken_wherever_it_is_cut() {
    let pdf = b"%PDF-1.4\n1 0 obj <<>> endobj\nstartxref\n29\n%%EOF".to_vec();
    for whole in [jpeg_of(40, 40), png_of(40, 40), pdf] {
        for end in 0..whole.len() {
            let cut = whole.get(..end).unwrap();
            assert!(recognised(cut).is_err(), "cut at {end} of {}", whole.len());
        }
        let half = whole.get(..whole.len() / 2).unwrap();
        assert!(recognised(half).unwrap_err().what.contains("cut off"));
    }
}

#[test]
fn a_changed_byte_of_a_png_is_found() {
    let mut bytes = png_of(30, 30);
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    assert!(recognised(&bytes).unwrap_err().what.contains("damaged at byte"));
}

#[test]
fn what_a_camera_says_is_taken_out_and_the_picture_stays() {
    let loud = loud_jpeg(6);
    for word in PRIVATE {
        assert!(holds(&loud, word), "the sample says nothing");
    }
    let quiet = bare(&loud, PaperType::Jpeg).unwrap();
    for word in PRIVATE {
        assert!(!holds(&quiet, word), "{}", String::from_utf8_lossy(word));
    }
    assert_eq!(drawn(&quiet), drawn(&jpeg_of(64, 32)), "the same dots");
    assert_eq!(jpeg::shape(&quiet).unwrap().3, 6, "it is still shown the right way up");
    assert_eq!(bare(&quiet, PaperType::Jpeg).unwrap(), quiet, "nothing is left to take out");
}

#[test]
fn the_same_of_a_png() {
    let plain = png_of(64, 32);
    let mut said = Vec::new();
    png::put(&mut said, *b"eXIf", &exif_block(8));
    png::put(&mut said, *b"tEXt", b"Author\0MAKERXX");
    png::put(&mut said, *b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0GPSDATA");
    png::put(&mut said, *b"zTXt", b"Comment\0\0a remark");
    png::put(&mut said, *b"tIME", &[7, 0xea, 3, 1, 8, 0, 0]);
    png::put(&mut said, *b"iCCP", b"ICC_PROFILE\0\0");
    let (head, rest) = plain.split_at(33);
    let loud = [head, &said, rest, b"MOTION"].concat();
    let quiet = bare(&loud, PaperType::Png).unwrap();
    for word in
        [&b"MAKERXX"[..], b"GPSDATA", b"a remark", b"tIME", b"ICC_PROFILE", b"MOTION", b"tEXt"]
    {
        assert!(holds(&loud, word) && !holds(&quiet, word), "{}", String::from_utf8_lossy(word));
    }
    assert_eq!(drawn(&quiet), drawn(&plain));
    assert_eq!(png::shape(&quiet).unwrap().2, 8);
    assert_eq!(bare(&quiet, PaperType::Png).unwrap(), quiet);
}

#[test]
fn a_small_picture_stands_upright() {
    // Orientation 6: the top of the scene is on the right of what is stored (CIPA DC-008, 4.6.5), so the
    // red corner at the left above goes to the right above.
    let wide = [
        &jpeg_of(800, 400)[..2],
        &segment(0xe1, &[b"Exif\0\0", &exif_block(6)[..]].concat()),
        &jpeg_of(800, 400)[2..],
    ]
    .concat();
    let small = small(&wide, PaperType::Jpeg).unwrap();
    assert_eq!((small.width, small.height), (240, 480));
    let drawn = drawn(&small.jpeg);
    let red = |x, y| drawn.get_pixel(x, y).0[0] > 150;
    assert!(red(230, 10) && !red(10, 10) && !red(10, 470) && !red(230, 470));
    let plain = super::small(&png_of(50, 20), PaperType::Png).unwrap();
    assert_eq!((plain.width, plain.height), (50, 20), "a small one is not blown up");
    assert!(super::small(&png_of(50, 20), PaperType::Pdf).is_err());
}

#[test]
fn a_bomb_is_not_drawn() {
    // A hundred thousand by a hundred thousand dots, said in a header of 13 bytes.
    let mut bomb = b"\x89PNG\r\n\x1a\n".to_vec();
    png::put(&mut bomb, *b"IHDR", &[0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0, 8, 2, 0, 0, 0]);
    png::put(&mut bomb, *b"IDAT", b"");
    png::put(&mut bomb, *b"IEND", b"");
    assert_eq!(recognised(&bomb), Ok(PaperType::Png), "its frame is whole");
    assert!(small(&bomb, PaperType::Png).unwrap_err().contains("too large to be drawn small"));
    let mut empty = b"\x89PNG\r\n\x1a\n".to_vec();
    png::put(&mut empty, *b"IHDR", &[0, 0, 0, 9, 0, 0, 0, 9, 8, 2, 0, 0, 0]);
    png::put(&mut empty, *b"IDAT", b"nothing");
    png::put(&mut empty, *b"IEND", b"");
    assert!(small(&empty, PaperType::Png).unwrap_err().contains("it cannot be drawn"));
    let jpeg = jpeg_of(16, 16);
    let scan = jpeg.windows(2).position(|at| at == [0xff, 0xda]).unwrap();
    let end = jpeg.len() - 2;
    let lines = &jpeg[scan..end];
    let many = [&jpeg[..end], &lines.repeat(80), &jpeg[end..]].concat();
    assert!(small(&many, PaperType::Jpeg).unwrap_err().contains("81 times over"));
}

proptest! {
    /// Whatever the bytes are, nothing panics; and what is handed on is whole and says nothing.
    #[test]
    fn any_change_is_refused_or_comes_out_bare(at in any::<prop::sample::Index>(), byte in any::<u8>(), png in any::<bool>()) {
        let (mut bytes, kind) = if png { (png_of(20, 20), PaperType::Png) } else { (loud_jpeg(3), PaperType::Jpeg) };
        let at = at.index(bytes.len());
        bytes[at] = byte;
        if let Ok(quiet) = bare(&bytes, kind) {
            prop_assert_eq!(recognised(&quiet), Ok(kind));
            prop_assert_eq!(bare(&quiet, kind).unwrap(), quiet.clone());
        }
        drop(small(&bytes, kind));
    }
}

/// A PNG file that lets its left half show through.
fn half_of_glass(width: u32, height: u32) -> Vec<u8> {
    let picture = image::RgbaImage::from_fn(width, height, |x, _| {
        image::Rgba([20, 60, 110, if x < width / 2 { 0 } else { 255 }])
    });
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&picture, width, height, image::ExtendedColorType::Rgba8)
        .unwrap();
    bytes
}

#[test]
fn a_mark_is_made_small_and_lets_the_paper_show_through() {
    let drawn = mark(&half_of_glass(1200, 600)).unwrap();
    assert_eq!((drawn.media, drawn.width, drawn.height), ("image/png", 480, 240));
    let again = image::load_from_memory(&drawn.bytes).unwrap().to_rgba8();
    assert_eq!((again.get_pixel(10, 10)[3], again.get_pixel(400, 10)[3]), (0, 255));
    // A small one is not made larger.
    assert_eq!(mark(&half_of_glass(8, 4)).unwrap().width, 8);
    let jpeg = mark(&jpeg_of(600, 300)).unwrap();
    assert_eq!((jpeg.media, jpeg.width), ("image/jpeg", 480));
}

#[test]
fn of_a_mark_nothing_but_the_picture_is_handed_on() {
    let drawn = mark(&loud_jpeg(6)).unwrap();
    for secret in PRIVATE {
        let found = drawn.bytes.windows(secret.len()).any(|window| window == secret);
        assert!(!found, "{:?}", String::from_utf8_lossy(secret));
    }
    let mut noted = png_of(20, 20);
    let note = b"a remark";
    let mut chunk = Vec::new();
    png::put(&mut chunk, *b"tEXt", note);
    noted.splice(33..33, chunk);
    let drawn = mark(&noted).unwrap();
    assert!(!drawn.bytes.windows(note.len()).any(|window| window == note));
}

#[test]
fn what_is_no_mark_is_refused_with_its_reason() {
    let what = |bytes: &[u8]| mark(bytes).unwrap_err().what;
    assert_eq!(
        what(b"<svg onload=\"alert(1)\"/>"),
        "it is an SVG drawing, which can hold a program"
    );
    assert_eq!(what(b""), "it is empty");
    assert!(what(&vec![0; (1 << 20) + 1]).starts_with("it has 1048577 bytes"));
    let cut = jpeg_of(60, 60);
    assert!(what(&cut[..cut.len() / 2]).contains("cut off"));
    // A file of a few bytes that says it is huge, and ends there.
    let mut header = png_of(4, 4);
    header.truncate(8);
    let huge =
        [&30_000_u32.to_be_bytes()[..], &30_000_u32.to_be_bytes(), &[8, 2, 0, 0, 0]].concat();
    png::put(&mut header, *b"IHDR", &huge);
    png::put(&mut header, *b"IDAT", &[0; 8]);
    png::put(&mut header, *b"IEND", &[]);
    assert_eq!(what(&header), "with 30000 by 30000 pixels it is too large");
}

proptest! {
    #[test]
    fn no_bytes_of_a_mark_end_it(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        // Whatever they are, they are a small mark or a reason.
        let begins = [&png_of(6, 6)[..40], &bytes].concat();
        for bytes in [bytes, begins] {
            match mark(&bytes) {
                Ok(mark) => prop_assert!(mark.bytes.len() <= LARGEST_SMALL && mark.width <= 480),
                Err(wrong) => prop_assert!(!wrong.what.is_empty()),
            }
        }
    }
}
