//! The state of one port, without the port: bytes and times in, one outcome for every frame out.

mod blocks;

use std::collections::VecDeque;
use std::sync::Arc;

use super::block::{Gathered, Gathering};
use super::capture::{Capture, Press, PressRule, Presses};
use super::decode::{Decoded, Number, Said};
use super::framing::{Framer, Step};
use super::outcome::{Damage, Foreign, Kind, Odd, Outcome, printable};
use super::profile::{Content, Profile};
use quantity::{Length, Quoted, Unit};

/// After this much silence the next byte is the beginning of a frame.
const SILENCE_US: u64 = 50_000;

/// After this much silence a frame without a terminator is taken, if it is whole.
const TAIL_US: u64 = 200_000;

/// How many different frames are remembered with their meaning.
const KNOWN: usize = 4;

/// The gauges on a port and how they talk.
#[derive(Debug, Clone)]
pub struct LineSetup {
    /// The profile they all follow.
    pub profile: Arc<Profile>,
    /// The gauges that share the port: at least one, and exactly one if it has no channel.
    pub gauges: Vec<GaugeOnLine>,
}

/// One gauge on a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaugeOnLine {
    /// Its channel. `None`: it takes the first channel seen, or frames that name no channel.
    pub channel: Option<String>,
    /// The unit of frames that name none, and the unit expected of frames that do.
    pub unit: Option<Unit>,
    /// One step of its display.
    pub resolution: Quoted,
    /// The length of one count, for frames that are counts.
    pub scale: Option<Quoted>,
    /// Whether its value rises or falls as the plunger goes in.
    pub sign: Sign,
    /// Another frame within this time and two resolutions is the same press; 0 = off.
    pub repeat_us: u64,
    /// More frames a second than this for 3 s mute the gauge; 0 = off.
    pub max_rate: u32,
    /// How readings are captured. Repeats and floods are looked for only where each frame is a reading.
    pub capture: Capture,
    /// Whether the gauge's own button counts although the gauge is asked.
    pub button: bool,
    /// Where the stylus of a stream rests free.
    pub rest: Option<Length>,
    /// It is asked again and again, this long after the question before, in microseconds; 0 = off.
    pub every_us: u64,
}

quantity::worded! {
    /// The direction in which a gauge counts.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Sign {
        /// Plunger in counts up, as everything here expects.
        Plus = "+",
        /// Plunger in counts down; the sign of its values is changed.
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

/// The state of one port. It opens nothing: the caller passes in bytes and times.
#[derive(Debug, Clone)]
pub struct GaugeLine {
    setup: LineSetup,
    memories: Vec<Memory>,
    framer: Framer,
    /// The lines of the block under way, where blocks are sent.
    gathering: Option<Gathering>,
    /// When the last byte came, or the port was opened.
    last_us: Option<u64>,
    live: bool,
    /// The unfinished frame was tried already and is not whole.
    tail_tried: bool,
    /// The meaning of the newest few different frames: a parked gauge sends the same two or three all day.
    known: VecDeque<(Vec<u8>, Decoded)>,
}

impl GaugeLine {
    /// A port that is not open yet.
    ///
    /// # Panics
    /// If there is no gauge in the setup.
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
        let gathering = setup.profile.block.clone().map(Gathering::new);
        let (last_us, live, tail_tried, known) = (None, false, false, VecDeque::new());
        Self { setup, memories, framer, gathering, last_us, live, tail_tried, known }
    }

    /// The port has just been opened, for the first time or again.
    pub fn opened(&mut self, now_us: u64) {
        self.framer = Framer::new(self.setup.profile.framing);
        if let Some(gathering) = &mut self.gathering {
            gathering.opened();
        }
        self.last_us = Some(now_us);
        self.live = false;
        self.tail_tried = false;
    }

    /// Whether frames are taken from their beginning. It becomes true after 50 ms of silence since opening,
    /// or after the first line.
    #[must_use]
    pub fn live(&self) -> bool {
        self.live
    }

    /// Whether no frame is unfinished. Then the times at which bytes arrive do not matter.
    #[must_use]
    pub fn is_between_frames(&self) -> bool {
        let gathered = self.gathering.as_ref().is_none_or(|gathering| !gathering.is_under_way());
        self.live && gathered && self.framer.pending().is_empty() && !self.framer.is_skipping()
    }

    /// Takes in bytes; `out` gets one outcome for each frame they end.
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
                Step::Over => self.live |= self.gathering.is_none(),
                Step::Frame if self.gathering.is_some() => self.line_of_block(true, now_us, out),
                Step::TooLong if self.gathering.is_some() => self.line_of_block(false, now_us, out),
                Step::Frame => self.frame(now_us, out),
                Step::TooLong => self.too_long(now_us, out),
            }
        }
    }

    /// Tells the line the time. Call it at [`GaugeLine::wake_at`]; calling it more often does no harm.
    pub fn tick(&mut self, now_us: u64, out: &mut Vec<Outcome>) {
        let Some(last_us) = self.last_us else { return };
        let silent_us = now_us.saturating_sub(last_us);
        if !self.live && silent_us >= self.silence_us() {
            self.first_silence(last_us, out);
        }
        match self.gap_us() {
            Some(gap_us) if silent_us >= gap_us => self.gap(last_us, out),
            None if silent_us >= TAIL_US => self.tail(last_us, out),
            Some(_) | None => {}
        }
    }

    fn silence_us(&self) -> u64 {
        self.gap_us().unwrap_or(SILENCE_US)
    }

    /// Silence that separates frames of fixed length, or blocks, in microseconds.
    fn gap_us(&self) -> Option<u64> {
        self.gathering.as_ref().map(Gathering::gap_us).or(self.framer.gap_us())
    }

    /// When [`GaugeLine::tick`] next has something to do, if no byte arrives before.
    #[must_use]
    pub fn wake_at(&self) -> Option<u64> {
        let last_us = self.last_us?;
        let gathers = self.gathering.as_ref().is_some_and(Gathering::is_under_way);
        let under_way = gathers || !self.framer.pending().is_empty() || self.framer.is_skipping();
        let wait_us = match self.gap_us() {
            _ if !self.live => self.silence_us(),
            Some(gap_us) if under_way => gap_us,
            None if !self.framer.pending().is_empty() && !self.tail_tried => TAIL_US,
            Some(_) | None => return None,
        };
        Some(last_us.saturating_add(wait_us))
    }

    /// The first silence since opening. What came before it may lack its beginning; what comes after does
    /// not.
    fn first_silence(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        if self.gathering.is_some() {
            self.gap_between_blocks(at_us, out);
        }
        let cut = self.framer.take();
        if !cut.is_empty() {
            out.push(outcome(0, at_us, &cut, Kind::Resync));
        }
        self.framer.begin();
        self.live = true;
    }

    /// The gap between frames of fixed length, or between blocks.
    fn gap(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        if self.gathering.is_some() {
            return self.gap_between_blocks(at_us, out);
        }
        let cut = self.framer.take();
        if !cut.is_empty() {
            out.push(outcome(0, at_us, &cut, Kind::Damaged(Damage::CutShort)));
        }
        self.framer.begin();
    }

    /// Takes a frame whose terminator does not come, but only if it is certainly whole: an unfinished frame
    /// may go on, and its end alone would look like another value.
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
        self.decoded(&decoded, bytes, at_us, out);
    }

    /// Says what became of a frame that is decoded.
    fn decoded(&mut self, decoded: &Decoded, bytes: Vec<u8>, at_us: u64, out: &mut Vec<Outcome>) {
        let (gauge, meaning) = self.assign(decoded);
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

    /// The meaning of a frame. One that is among the newest few is not decoded again.
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

    /// Which gauge a frame belongs to, and its meaning there. Changes nothing.
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

    /// The gauge with this channel; else a gauge without a set channel that has seen no other. For a frame
    /// that names no channel: the gauge without a set channel, else the only gauge.
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

    /// What is unexpected about a value.
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

/// The meaning of a frame for its gauge, before repeated presses are told apart.
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

/// The length of `count` counts of `scale`, where it is one that is taken.
fn scaled(count: i64, scale: Quoted) -> Option<Quoted> {
    let length = Length::from_picometres(scale.length.picometres().checked_mul(count)?);
    length.is_taken().then_some(Quoted { length, ..scale })
}

fn outcome(gauge: usize, at_us: u64, bytes: &[u8], kind: Kind) -> Outcome {
    Outcome { gauge, at_us, text: printable(bytes), kind }
}

#[cfg(test)]
mod tests;
