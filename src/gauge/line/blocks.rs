//! Blocks of lines on a port: each is one frame.

use super::{Gathered, GaugeLine, Kind, Outcome, outcome};

impl GaugeLine {
    /// A line has come; `whole` where none of its bytes are missing.
    pub(super) fn line_of_block(&mut self, whole: bool, at_us: u64, out: &mut Vec<Outcome>) {
        let bytes = self.framer.take();
        let Some(gathering) = &mut self.gathering else { return };
        let ended = gathering.line(&self.setup.profile, bytes, whole);
        for gathered in ended {
            self.gathered(gathered, at_us, out);
        }
        // The first line of a block is known by its look, so there is no doubt where frames begin.
        self.live |= self.gathering.as_ref().is_some_and(super::Gathering::is_inside);
    }

    /// A silence: what is under way has ended, and what comes next is a beginning.
    pub(super) fn gap_between_blocks(&mut self, at_us: u64, out: &mut Vec<Outcome>) {
        // The last line of a block may lack its line end; the rest of a line that was too long has come.
        if self.framer.is_skipping() {
            self.framer.begin();
        } else if !self.framer.pending().is_empty() {
            self.line_of_block(true, at_us, out);
        }
        let broken = self.gathering.as_mut().and_then(super::Gathering::broken_off);
        if let Some(broken) = broken {
            self.gathered(broken, at_us, out);
        }
    }

    fn gathered(&mut self, gathered: Gathered, at_us: u64, out: &mut Vec<Outcome>) {
        let Gathered { bytes, decoded, stray } = gathered;
        if stray && !self.live {
            out.push(outcome(0, at_us, &bytes, Kind::Resync));
        } else {
            self.decoded(&decoded, bytes, at_us, out);
        }
    }
}
