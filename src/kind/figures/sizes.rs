//! The figures of diameters, of what is worked out from sizes, and of face offsets.

use ::words::{Bound, Stated, Tell, Thousandth, ThousandthUp, To};
use quantity::Figure;

::words::told! {
    /// A diameter, plane by plane.
    struct DiameterFigures => DiameterLine {
        /// Where it is measured.
        side: Side,
        /// Each plane, in the order they are measured.
        planes: Vec<PlaneFigures>,
        /// Half of what the diameters of one plane differ by, of the plane where that is most.
        out_of_round: Option<Figure>,
        /// Expanded uncertainty of it.
        out_of_round_u: Option<Bound>,
        /// The largest mean of a plane minus the smallest.
        between_planes: Option<Figure>,
        /// Expanded uncertainty of it.
        between_planes_u: Option<Bound>,
    }

    /// One plane of a diameter.
    struct PlaneFigures => PlaneLine {
        /// Its number, from 1.
        plane: u32,
        /// The mean of its diameters.
        mean: Figure,
        /// Half of what its diameters differ by; absent where there is only one.
        out_of_round: Option<Figure>,
    }

    /// How a bore sits on its seat.
    struct FitFigures => FitLine {
        /// The diameter of the seat.
        seat: Figure,
        /// The diameter of the bore.
        bore: Figure,
        /// Whether both are at 20 °C.
        at_20_c: bool,
        /// Which it is.
        sits: Sits,
        /// How the clearance changes with each degree Celsius that both grow warmer, where their metals
        /// differ.
        for_each_c: Option<Figure>,
    }

    /// What a part that is loose on its shaft can do to the balance. It is never judged.
    struct UnbalanceFigures => UnbalanceLine {
        /// What it is.
        label: Estimate,
        /// Mass times half the clearance, gram millimetres.
        can_cause_g_mm: ThousandthUp,
        /// The same with the clearance larger by its uncertainty, gram millimetres.
        at_most_g_mm: ThousandthUp,
        /// What the balance grade permits the whole rotor, gram millimetres.
        permitted_g_mm: Thousandth,
        /// The balance grade that the plan names, millimetres a second.
        grade_mm_s: Thousandth,
        /// The speed, turns a minute.
        speed_rpm: Thousandth,
        /// The mass of the part, grams.
        mass_g: Thousandth,
        /// The mass of the rotor, grams.
        rotor_mass_g: Thousandth,
    }

    /// A set of sizes that have to be alike.
    struct SetFigures => SetLine {
        /// Each of them.
        members: Vec<MemberFigures>,
        /// The one that stands off from all others, where one does.
        odd: Option<String>,
        /// What the others differ by.
        without_it: Option<Figure>,
    }

    /// One of a set.
    struct MemberFigures => MemberLine {
        /// `PART/CHECK`.
        name: String,
        /// Its size.
        size: Figure,
    }

    /// A face offset, round by round.
    struct OffsetFigures => OffsetLine {
        /// The load under which it was touched, newtons.
        load_n: Thousandth,
        /// The mean of each round.
        rounds: Vec<Figure>,
        /// What the rounds differ by; absent where there is only one.
        repeats_within: Option<Figure>,
        /// What they may differ by.
        may_differ: Stated,
    }
}

quantity::worded! {
    /// Where a diameter is measured.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Side {
        /// In a hole.
        Bore = "bore",
        /// On the outside.
        Outside = "outside",
    }
}

quantity::worded! {
    /// How a bore sits on its seat.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Sits {
        /// The bore is larger.
        Clearance = "clearance",
        /// The seat is larger.
        Interference = "interference",
        /// They differ by no more than the uncertainty of that.
        CannotSay = "cannot-say",
    }
}

quantity::worded! {
    /// What stands beside a figure of a model.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Estimate {
        /// It is no more than that.
        Estimate = "estimate",
    }
}

super::by_its_word!(Side, Sits, Estimate);
