//! The tones as notes with a pitch and a length, in a WAV file or as rings of the terminal's bell.

use std::f64::consts::TAU;

use config::Voice;

use super::tone::Tone;

/// Samples per second: enough for the highest note an octave up, and small.
const RATE: u32 = 8000;

/// How long a note takes to swell and to fade, so that it does not click, in milliseconds.
const EDGE_MS: u32 = 6;

/// A note: pitch in hertz, 0 for a rest; length in milliseconds.
pub(crate) type Note = (f64, u32);

/// The patterns of notes. The pitches are those of the even-tempered scale on A = 440 Hz.
pub(crate) const fn notes(tone: Tone) -> &'static [Note] {
    const A3: f64 = 220.0;
    const C5: f64 = 523.25;
    const E5: f64 = 659.26;
    const G5: f64 = 783.99;
    const A5: f64 = 880.0;
    const A6: f64 = 1760.0;
    match tone {
        Tone::Taken => &[(A6, 70)],
        Tone::TakenBack => &[(A5, 90), (E5, 120)],
        Tone::Refused => &[(A3 / 2.0, 260)],
        Tone::In => &[(C5, 110), (E5, 110), (G5, 170)],
        Tone::InButClose => &[(C5, 110), (E5, 110), (E5, 330)],
        Tone::Out => &[(A3, 420), (0.0, 120), (A3, 420)],
        Tone::Question => &[(E5, 120), (0.0, 60), (A5, 120), (0.0, 60), (E5, 120)],
        // Both end with the question, so that the result of the check is heard first.
        Tone::OutAndAsked => &[
            (A3, 420),
            (0.0, 120),
            (A3, 420),
            (0.0, 200),
            (E5, 120),
            (0.0, 60),
            (A5, 120),
            (0.0, 60),
            (E5, 120),
        ],
        Tone::Withheld => {
            &[(C5, 420), (0.0, 200), (E5, 120), (0.0, 60), (A5, 120), (0.0, 60), (E5, 120)]
        }
        Tone::Stop => &[(A5, 130), (A3, 130), (A5, 130), (A3, 130)],
    }
}

/// A tone as a WAV file: 16 bits, one channel.
pub(crate) fn wav(tone: Tone, voice: Voice) -> Vec<u8> {
    file(notes(tone), voice, is_buzz(tone))
}

/// A short note of any pitch, in hertz, as a WAV file.
pub(crate) fn blip(hertz: f64, voice: Voice) -> Vec<u8> {
    file(&[(hertz, 60)], voice, false)
}

/// Whether a tone is a buzz, with overtones: on a small speaker a low note alone cannot be heard.
pub(crate) const fn is_buzz(tone: Tone) -> bool {
    matches!(tone, Tone::Refused | Tone::Out | Tone::OutAndAsked)
}

/// When the bell rings, in milliseconds from the first ring.
pub(crate) const fn bell_times(tone: Tone) -> &'static [u64] {
    match tone {
        Tone::Taken => &[0],
        Tone::TakenBack => &[0, 130],
        Tone::Refused => &[0, 90, 180, 270],
        Tone::In => &[0, 160, 320],
        Tone::InButClose => &[0, 160, 800],
        Tone::Out => &[0, 700],
        Tone::Question => &[0, 160, 640, 800],
        Tone::OutAndAsked => &[0, 700, 1400, 1560, 2040, 2200],
        Tone::Withheld => &[0, 700, 860, 1340, 1500],
        Tone::Stop => &[0, 110, 220, 330, 440],
    }
}

fn file(notes: &[Note], voice: Voice, buzz: bool) -> Vec<u8> {
    let samples: Vec<i16> = notes.iter().flat_map(|note| one_note(*note, voice, buzz)).collect();
    let data = u32::try_from(samples.len() * 2).unwrap_or(u32::MAX);
    let mut bytes = Vec::with_capacity(samples.len() * 2 + 44);
    bytes.extend(b"RIFF");
    bytes.extend(data.saturating_add(36).to_le_bytes());
    bytes.extend(b"WAVEfmt ");
    bytes.extend(16_u32.to_le_bytes());
    // Plain numbers, one channel.
    bytes.extend([1_u16, 1].iter().flat_map(|word| word.to_le_bytes()));
    bytes.extend([RATE, RATE * 2].iter().flat_map(|word| word.to_le_bytes()));
    // Two bytes a sample, of 16 bits.
    bytes.extend([2_u16, 16].iter().flat_map(|word| word.to_le_bytes()));
    bytes.extend(b"data");
    bytes.extend(data.to_le_bytes());
    bytes.extend(samples.iter().flat_map(|sample| sample.to_le_bytes()));
    bytes
}

fn one_note((hertz, ms): Note, voice: Voice, buzz: bool) -> impl Iterator<Item = i16> {
    let count = RATE * ms / 1000;
    let edge = f64::from(RATE * EDGE_MS / 1000);
    let step = TAU * hertz * voice.pitch / f64::from(RATE);
    let loud = f64::from(voice.volume) / 100.0 * f64::from(i16::MAX);
    (0..count).map(move |index| {
        let phase = step * f64::from(index);
        let wave = if buzz {
            (phase.sin() + (2.0 * phase).sin() / 2.0 + (3.0 * phase).sin() / 3.0) / 1.6
        } else {
            phase.sin()
        };
        let from_edge = f64::from(index.min(count - 1 - index));
        let swell = (from_edge / edge).min(1.0);
        whole(wave * swell * loud)
    })
}

#[expect(clippy::cast_possible_truncation, reason = "held within its range just before")]
fn whole(sample: f64) -> i16 {
    sample.clamp(f64::from(i16::MIN), f64::from(i16::MAX)).round() as i16
}
