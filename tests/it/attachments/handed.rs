//! What is handed on to a customer: the report with small pictures, and the annex with full ones.

use std::fs;

use super::{attach, bench, file, folder, kept, name_of, pdf, photo};

/// What a camera wrote into the samples.
const PRIVATE: [&[u8]; 3] = [b"MAKER", b"Kamera", b"51.0504N"];

fn holds(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|at| at == word)
}

/// The bytes of a base64 text (RFC 4648), read by a few lines that have nothing to do with the writer.
fn from_base64(text: &str) -> Vec<u8> {
    const DIGITS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bytes, mut held, mut bits) = (Vec::new(), 0_u32, 0);
    for digit in text.chars().filter(|digit| *digit != '=') {
        held = held << 6 | u32::try_from(DIGITS.find(digit).unwrap()).unwrap();
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push(u8::try_from(held >> bits & 255).unwrap());
        }
    }
    bytes
}

/// The small pictures of a page.
fn pictures(page: &str) -> Vec<Vec<u8>> {
    let uris = page.split("data:image/jpeg;base64,").skip(1);
    uris.map(|rest| from_base64(rest.split('"').next().unwrap())).collect()
}

#[test]
fn the_report_has_small_pictures_and_the_annex_full_ones_without_what_cameras_say() {
    let bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring/face");
    attach(&bench, "two.pdf", &pdf(), "ring");
    let gone = attach(&bench, "three.jpg", &photo(3), "ring");
    bench.ok(&["attach", "a1", "--remove", &gone.to_string(), "--why", "of another <spindle>"]);
    let mut png = Vec::new();
    image::RgbaImage::new(30, 20)
        .write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png)
        .unwrap();
    attach(&bench, "four.png", &png, "ring");
    let (out, annex) = (bench.path("r.html"), bench.path("annex"));
    bench.ok(&["report", "a1", "--out", out.to_str().unwrap(), "--annex", annex.to_str().unwrap()]);
    let page = fs::read_to_string(&out).unwrap();
    let small = pictures(&page);
    assert_eq!(small.len(), 2, "a paper and one that was taken back are not shown");
    for bytes in &small {
        assert!(PRIVATE.iter().all(|word| !holds(bytes, word)), "a small picture says nothing");
        assert!(bytes.len() < 128 << 10);
    }
    // The camera was held upright (orientation 6): 640 by 400 stands as 300 by 480.
    let drawn = image::load_from_memory(&small[0]).unwrap();
    assert_eq!((drawn.width(), drawn.height()), (300, 480));
    assert!(page.contains("Pictures and papers") && page.contains("PDF, 0.1 MB"), "{page}");
    assert!(
        page.contains("of another &lt;spindle&gt;")
            && page.contains("nothing inside them was removed")
    );

    assert_eq!(
        kept(&annex),
        ["001.jpg", "002.pdf", "003.png", "index.html"].map(str::to_owned).into()
    );
    let full = fs::read(annex.join("001.jpg")).unwrap();
    assert!(PRIVATE.iter().all(|word| holds(&photo(1), word) && !holds(&full, word)));
    let dots = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
    assert_eq!(dots(&full), dots(&photo(1)), "the same dots");
    assert_eq!(fs::read(annex.join("002.pdf")).unwrap(), pdf(), "a PDF is as it was");
    let index = fs::read_to_string(annex.join("index.html")).unwrap();
    assert!(
        index.contains("<img src=\"001.jpg\"") && index.contains("href=\"002.pdf\""),
        "{index}"
    );
    assert_eq!(
        fs::read(folder(&bench).join(name_of(&photo(1)))).unwrap(),
        photo(1),
        "the original stays"
    );
    let said = bench.refused(2, &["report", "a1", "--annex", annex.to_str().unwrap()]);
    assert!(said.contains("not empty") && said.contains("--annex"), "{said}");
}

#[test]
fn a_picture_that_is_missing_damaged_or_a_bomb_is_told_and_the_report_comes() {
    let bench = bench();
    let crc = |bytes: &[u8]| {
        // CRC-32 bit by bit, as in annex D of the PNG specification.
        let step = |sum: u32, byte: &u8| {
            (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
                if sum & 1 == 1 { sum >> 1 ^ 0xedb8_8320 } else { sum >> 1 }
            })
        };
        !bytes.iter().fold(u32::MAX, step)
    };
    let chunk = |name: &[u8], content: &[u8]| {
        let length = u32::try_from(content.len()).unwrap().to_be_bytes();
        let summed = [name, content].concat();
        [&length[..], &summed, &crc(&summed).to_be_bytes()].concat()
    };
    // A header of a hundred thousand by a hundred thousand dots.
    let side = 100_000_u32.to_be_bytes();
    let header = [&side[..], &side, &[8, 2, 0, 0, 0]].concat();
    let bomb = [
        &b"\x89PNG\r\n\x1a\n"[..],
        &chunk(b"IHDR", &header),
        &chunk(b"IDAT", b"x"),
        &chunk(b"IEND", b""),
    ]
    .concat();
    attach(&bench, "one.jpg", &photo(1), "ring");
    attach(&bench, "two.jpg", &photo(2), "ring");
    attach(&bench, "bomb.png", &bomb, "ring");
    attach(&bench, "four.jpg", &photo(4), "ring");
    fs::remove_file(folder(&bench).join(name_of(&photo(1)))).unwrap();
    fs::write(folder(&bench).join(name_of(&photo(2))), photo(9)).unwrap();
    let annex = bench.path("annex");
    let output = bench.run(&["report", "a1", "--annex", annex.to_str().unwrap()]);
    assert!(output.status.success());
    let page = String::from_utf8(output.stdout).unwrap();
    assert_eq!(pictures(&page).len(), 1);
    for says in [
        "Not shown: <bdi>its file is missing",
        "Not shown: <bdi>its file ",
        "100000 by 100000 pixels it is too large",
    ] {
        assert!(page.contains(says), "{says}: {page}");
    }
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("2 of its pictures and papers are missing or damaged"), "{said}");
    assert_eq!(kept(&annex), ["003.png", "004.jpg", "index.html"].map(str::to_owned).into());
    let path = file(&bench, "one.jpg", &photo(1));
    bench.ok(&["attach", "a1", &path, "--what", "again"]);
}
