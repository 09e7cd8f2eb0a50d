//! One turn of a surface under a fixed stylus.

use crate::quantity::Figure;

use super::{Judged, Tries};

pub(super) fn runout(tries: &Tries) -> Judged {
    Judged { limits: tries.check.limits, ..Judged::default() }
}

pub(super) fn out_so_far(tries: &Tries) -> Option<Figure> {
    tries.max_minus_min()
}
