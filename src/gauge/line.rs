//! The pure state of one port: bytes and times in, one outcome for every frame out.

use std::collections::VecDeque;
use std::sync::Arc;

use super::capture::{Capture, Press, PressRule, Presses};
use super::decode::{Decoded, Number, Said};
use super::framing::{Framer, Step};
use super::outcome::{Damage, Foreign, Kind, Odd, Outcome, printable};
use super::profile::{Content, Profile};
use quantity::{Length, Quoted, Unit};

/// Silence after which what comes next is a beginning.
const SILENCE_US: u64 = 50_000;

/// A frame without a terminator is taken after this much silence, if it is whole.
const TAIL_US: u64 = 200_000;

/// Frames whose meaning is remembered.
const KNOWN: usize = 4;

/// What is on a port.
#[derive(Debug, Clone)]
pub struct LineSetup {
    /// How it talks.
    pub profile: Arc<Profile>,
    /// The gauges that share it; one without channels. At least one.
    pub gauges: Vec<GaugeOnLine>,
}

/// One gauge on a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaugeOnLine {
    /// Its channel. `None`: the first channel seen, or a gauge that names none.
    pub channel: Option<String>,
    /// Its unit where the frame does not say, and the one expected where it does.
    pub unit: Option<Unit>,
    /// One step of its display.
    pub resolution: Quoted,
    /// The length of one count, for frames that are counts.
    pub scale: Option<Quoted>,
    /// Whether the plunger going in counts up.
    pub sign: Sign,
    /// Another frame this soon and within two resolutions is the same press; 0 = off.
    pub repeat_us: u64,
    /// More frames a second than this for 3 s mute it; 0 = off.
    pub max_rate: u32,
    /// When a frame is a reading. Repeats and floods are told only where each frame is one.
    pub capture: Capture,
    /// A gauge that is asked, whose own button counts, too.
    pub button: bool,
    /// Where the stylus of a stream rests free.
    pub rest: Option<Length>,
}

quantity::worded! {
    /// Which way a gauge counts.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Sign {
        /// Plunger in counts up, as everything here expects.
        Plus = "+",
        /// Plunger in counts down; values are turned round.
        Minus = "-",
    }
}

/// What is remembered of one gauge.
#[derive(Debug, Clone)]
struct Memory {
    presses: Presses,
    unit_seen: Option<Unit>,
    channel_seen: Option<String>,
}

/// The state of one port. It opens nothing: the caller hands over bytes and times.
#[derive(Debug, Clone)]
pub struct GaugeLine {
    setup: LineSetup,
    memories: Vec<Memory>,
    framer: Framer,
    /// When the last byte came, or the port was opened.
    last_us: Option<u64>,
    live: bool,
    /// The frame under way was looked at and is not whole.
    tail_tried: bool,
    /// What the newest few different frames say: a parked gauge sends two or three all day.
    known: VecDeque<(Vec<u8>, Decoded)>,
}

impl GaugeLine {
    /// A port that is not open yet.
    ///
    /// # Panics
    /// Without a gauge.
    #[must_use]
    pub fn new(setup: LineSetup) -> Self {
        assert!(!setup.gauges.is_empty(), "a line is set up for its gauges");
        let memory = |gauge: &GaugeOnLine| Memory {
            presses: Presses::new(gauge.press_rule()),
            unit_seen: None,
            channel_seen: None,
        };
        let memories = setup.gauges.iter().map(memory).collect();
        let framer = Framer::new(setup.profile.framing);
        let (last_us, live, tail_tried, known) = (None, false, false, VecDeque::new());
        Self { setup, memories, framer, last_us, live, tail_tried, known }
    }

    /// The port has just been opened, for the first time or again.
    pub fn opened(&mut self, now_us: u64) {
        self.framer = Framer::new(self.setup.profile.framing);
        self.last_us = Some(now_us);
        self.live = false;
        self.tail_tried = false;
    }

    /// Whether frames are taken from their beginning: 50 ms of silence since opening, or the
    /// first line, are over.
    #[must_use]
    pub fn live(&self) -> bool {
        self.live
    }

    /// Whether nothing of a frame has come that is not over: then no time of a byte matters.
    #[must_use]
    pub fn is_between_frames(&self) -> bool {
        self.live && self.framer.pending().is_empty() && !self.framer.is_skipping()
    }

    /// Bytes have arrived; `out` gets one outcome for each frame they end.
    pub fn feed(&mut self, bytes: &[u8], now_us: u64, out: &mut Vec<Outcome>) {
        if self.last_us.is_none() {
            self.opened(now_us);
        }
        self.tick(now_us, out);
        for &byte in bytes {
            let step = self.framer.push(byte);
            if step != Step::Nothing {
                self.last_us = Some(now_us);
                self.tail_tried = false;
            }
            match step {
                Step::Nothing | Step::More => {}
                Step::Over => self.live = true,
                Step::Frame => self.frame(now_us, out),
                Step::TooLong => self.too_long(now_us, out),
            }
        }
    }

    /// Time has passed. Call it at [`Line::wake_at`]; more often does no harm.
    pub fn tick(&mut self, now_us: u64, out: &mut Vec<Outcome>) {
        let Some(last_us) = self.last_us else { return };
        let silent_us = now_us.saturating_sub(last_us);
        if !self.live && silent_us >= self.silence_us() {
            self.first_silence(last_us, out);
        }
        match self.framer.gap_us() {
            Some(gap_us) if silent_us >= gap_us => self.gap(last_us, out),
            None if silent_us >= TAIL_US => self.tail(last_us, out),
            Some(_) | None => {}
        }
    }

    fn silence_us(&self) -> u64 {
        self.framer.gap_us().unwrap_or(SILENCE_US)
    }

    /// When [`Line::tick`] has something to do, if nothing arrives before.
    #[must_use]
    pub fn wake_at(&self) -> Option<u64> {
        let last_us = self.last_us?;
        let under_way = !self.framer.pending().is_empty() || self.framer.is_skipping();
        let wait_us = match self.framer.gap_us() {
            _ if !self.live => self.silence_us(),
            Some(gap_us) if under_way => gap_us,
            None if !self.framer.pending().is_empty() && !self.tail_tried => TAIL_US,
            Some(_) | None => return None,
        };
        Some(last_us.saturating_add(wait_us))
    }

    /// The first silence since opening: what came before it may lack its beginning, what comes
    /// after it does not.
    fn first_silence(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        let cut = self.framer.take();
        if !cut.is_empty() {
            out.push(outcome(0, at_us, &cut, Kind::Resync));
        }
        self.framer.begin();
        self.live = true;
    }

    /// The gap between frames of fixed length.
    fn gap(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        let cut = self.framer.take();
        if !cut.is_empty() {
            out.push(outcome(0, at_us, &cut, Kind::Damaged(Damage::CutShort)));
        }
        self.framer.begin();
    }

    /// A frame whose terminator does not come is taken only if it is whole beyond doubt: one that
    /// is not may still be going on, and its end alone would look like another value.
    fn tail(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        if self.tail_tried || self.framer.pending().is_empty() {
            return;
        }
        self.tail_tried = true;
        let decoded = self.setup.profile.decode(self.framer.pending());
        let is_blank = self.framer.pending().trim_ascii().is_empty();
        let (_, meaning) = self.assign(&decoded);
        let whole = match meaning {
            Meaning::Value { odd, .. } => odd.is_none(),
            Meaning::Foreign(_) => !is_blank,
            Meaning::Damaged(_) => false,
        };
        if whole {
            self.frame(at_us, out);
        }
    }

    fn too_long(&mut self, now_us: u64, out: &mut Vec<Outcome>) {
        let bytes = self.framer.take();
        let kind = if self.live { Kind::Damaged(Damage::TooLong) } else { Kind::Resync };
        out.push(outcome(0, now_us, &bytes, kind));
    }

    fn frame(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        let bytes = self.framer.take();
        if !self.live {
            out.push(outcome(0, at_us, &bytes, Kind::Resync));
            self.framer.lose_step();
            self.live = !self.framer.is_skipping();
            return;
        }
        let decoded = self.decode(&bytes);
        let (gauge, meaning) = self.assign(&decoded);
        let kind = match meaning {
            Meaning::Foreign(why) => Kind::Foreign(why),
            Meaning::Damaged(why) => {
                self.framer.lose_step();
                Kind::Damaged(why)
            }
            Meaning::Value { value, odd } => {
                let memory = &mut self.memories[gauge];
                memory.unit_seen.get_or_insert(value.unit);
                if memory.channel_seen.is_none() {
                    memory.channel_seen.clone_from(&decoded.channel);
                }
                let on_line = &self.setup.gauges[gauge];
                let press = match on_line.capture {
                    Capture::Send => memory.presses.frame(at_us, value.length),
                    Capture::Request if on_line.button => memory.presses.frame(at_us, value.length),
                    Capture::Request | Capture::Settle | Capture::Sweep => Press::New,
                };
                match press {
                    Press::Muted { first } => Kind::Muted { first },
                    press @ (Press::New | Press::Repeat) => Kind::Reading {
                        value,
                        repeat: press == Press::Repeat,
                        low_battery: decoded.low_battery,
                        odd,
                    },
                }
            }
        };
        out.push(outcome(gauge, at_us, &bytes, kind));
        self.framer.give_back(bytes);
    }

    /// What a frame says; one like a few before it is not looked at again.
    fn decode(&mut self, bytes: &[u8]) -> Decoded {
        if let Some((_, known)) = self.known.iter().find(|(frame, _)| frame == bytes) {
            return known.clone();
        }
        let decoded = self.setup.profile.decode(bytes);
        if self.known.len() >= KNOWN {
            self.known.pop_back();
        }
        self.known.push_front((bytes.to_vec(), decoded.clone()));
        decoded
    }

    /// Which gauge a frame belongs to and what it is there. Changes nothing.
    fn assign(&self, decoded: &Decoded) -> (usize, Meaning) {
        let found = self.gauge_of(decoded.channel.as_deref());
        let gauge = found.unwrap_or(0);
        let meaning = match &decoded.said {
            Said::Damaged(why) => Meaning::Damaged(*why),
            Said::Foreign(why) => Meaning::Foreign(*why),
            Said::Number(_) if found.is_none() => Meaning::Foreign(Foreign::OtherChannel),
            Said::Number(number) => self.value(gauge, *number),
        };
        (gauge, meaning)
    }

    /// The gauge with this channel; else one that was given none and has not seen another; else,
    /// for a frame that names none, the only gauge.
    fn gauge_of(&self, channel: Option<&str>) -> Option<usize> {
        let gauges = &self.setup.gauges;
        let Some(channel) = channel else {
            let without = gauges.iter().position(|gauge| gauge.channel.is_none());
            return without.or((gauges.len() == 1).then_some(0));
        };
        let named = gauges.iter().position(|gauge| gauge.channel.as_deref() == Some(channel));
        let free = |(gauge, memory): (&GaugeOnLine, &Memory)| {
            gauge.channel.is_none()
                && memory.channel_seen.as_deref().is_none_or(|seen| seen == channel)
        };
        named.or_else(|| gauges.iter().zip(&self.memories).position(free))
    }

    fn value(&self, index: usize, number: Number) -> Meaning {
        let gauge = &self.setup.gauges[index];
        let profile = &self.setup.profile;
        let value = match &profile.content {
            Content::Counts { scale, .. } => match gauge.scale.or(*scale) {
                Some(scale) => scaled(number.count, scale),
                None => return Meaning::Damaged(Damage::NoScale),
            },
            Content::Decimal(_) | Content::Packed(_) => {
                let unit = number.unit.or(gauge.unit).or(profile.unit);
                let unit = unit.unwrap_or(gauge.resolution.unit);
                Quoted::from_count(i128::from(number.count), number.places, unit).ok()
            }
        };
        let Some(value) = value else { return Meaning::Damaged(Damage::OutOfRange) };
        let odd = if profile.is_counts() { None } else { self.odd(index, value) };
        Meaning::Value { value: gauge.signed(value), odd }
    }

    /// What about a value is not as expected.
    fn odd(&self, index: usize, value: Quoted) -> Option<Odd> {
        let gauge = &self.setup.gauges[index];
        let expected = gauge.unit.or(self.memories[index].unit_seen).unwrap_or(value.unit);
        if value.unit != expected {
            return Some(Odd::Unit { got: value.unit, expected });
        }
        let resolution = gauge.resolution;
        let by_resolution = (resolution.unit == value.unit).then_some(resolution.places);
        let expected = self.setup.profile.places.get(&value.unit).copied().or(by_resolution)?;
        (value.places != expected).then_some(Odd::Places { got: value.places, expected })
    }
}

/// What a frame is to its gauge, before presses are told apart.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Meaning {
    Value { value: Quoted, odd: Option<Odd> },
    Foreign(Foreign),
    Damaged(Damage),
}

impl GaugeOnLine {
    fn press_rule(&self) -> PressRule {
        let step = self.resolution.length.abs().picometres();
        PressRule {
            repeat_us: self.repeat_us,
            near: Length::from_picometres(step.saturating_mul(2)),
            max_rate: self.max_rate,
        }
    }

    fn signed(&self, value: Quoted) -> Quoted {
        match self.sign {
            Sign::Plus => value,
            Sign::Minus => {
                let length = Length::from_picometres(-value.length.picometres());
                Quoted { length, ..value }
            }
        }
    }
}

/// So many counts of `scale`.
fn scaled(count: i64, scale: Quoted) -> Option<Quoted> {
    let length = Length::from_picometres(scale.length.picometres().checked_mul(count)?);
    Some(Quoted { length, ..scale })
}

fn outcome(gauge: usize, at_us: u64, bytes: &[u8], kind: Kind) -> Outcome {
    Outcome { gauge, at_us, text: printable(bytes), kind }
}

#[cfg(test)]
mod tests;
