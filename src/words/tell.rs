//! Values in the form of the published lines. `told!` describes an exact value once; its line, its columns
//! and the comparison of two values follow.

use judgement::{Limits, Word};
use quantity::{Figure, Unit};
use serde::{Deserialize, Serialize};

use super::Held;

/// How values are published.
#[derive(Debug, Clone, Copy)]
pub struct To<'a> {
    /// The unit of all lengths.
    pub unit: Unit,
    /// The judged figure and its digits: wherever the figure is written, it has these digits.
    pub judged: Option<(Figure, &'a str)>,
}

impl To<'_> {
    /// In this unit, without a judged figure.
    #[must_use]
    pub const fn unit(unit: Unit) -> Self {
        Self { unit, judged: None }
    }
}

/// A value that is part of a published line.
pub trait Tell {
    /// Its form on the line.
    type Told;

    /// The value in its published form.
    fn tell(&self, to: &To<'_>) -> Self::Told;

    /// Whether the same value, worked out again, is the same: exact values exactly, binary floats to a
    /// relative 1e-9, angles on their circle.
    fn alike(&self, again: &Self) -> bool;
}

impl Tell for Figure {
    type Told = String;

    fn tell(&self, to: &To<'_>) -> String {
        match to.judged {
            Some((judged, text)) if judged == *self => text.to_owned(),
            Some(_) | None => self.shown(to.unit),
        }
    }

    fn alike(&self, again: &Self) -> bool {
        self == again
    }
}

impl<T: Tell> Tell for Option<T> {
    type Told = Option<T::Told>;

    fn tell(&self, to: &To<'_>) -> Self::Told {
        self.as_ref().map(|value| value.tell(to))
    }

    fn alike(&self, again: &Self) -> bool {
        match (self, again) {
            (Some(stored), Some(again)) => stored.alike(again),
            (stored, again) => stored.is_none() && again.is_none(),
        }
    }
}

impl<T: Tell> Tell for Vec<T> {
    type Told = Vec<T::Told>;

    fn tell(&self, to: &To<'_>) -> Self::Told {
        self.iter().map(|value| value.tell(to)).collect()
    }

    fn alike(&self, again: &Self) -> bool {
        self.len() == again.len() && self.iter().zip(again).all(|(one, other)| one.alike(other))
    }
}

impl<T: Tell> Tell for [T; 2] {
    type Told = [T::Told; 2];

    fn tell(&self, to: &To<'_>) -> Self::Told {
        self.each_ref().map(|value| value.tell(to))
    }

    fn alike(&self, again: &Self) -> bool {
        self.iter().zip(again).all(|(one, other)| one.alike(other))
    }
}

/// Values that are published as they are.
macro_rules! as_it_is {
    ($($type:ty),*) => { $(
        impl Tell for $type {
            type Told = $type;

            fn tell(&self, _to: &To<'_>) -> $type {
                self.clone()
            }

            fn alike(&self, again: &Self) -> bool {
                self == again
            }
        }
    )* };
}

as_it_is!(u32, bool, String);

impl Tell for Word {
    type Told = String;

    fn tell(&self, _to: &To<'_>) -> String {
        self.text().to_owned()
    }

    fn alike(&self, again: &Self) -> bool {
        self == again
    }
}

/// Limits in a line: a largest one alone as a text, others as an object.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum LimitsTold {
    /// The largest allowed figure.
    Max(String),
    /// Smallest and largest allowed figure.
    Band {
        /// The smallest.
        min: String,
        /// The largest.
        max: String,
    },
    /// The smallest allowed figure, where there is no largest.
    Least {
        /// It.
        min: String,
    },
}

impl LimitsTold {
    /// The limits as in the record's lines, beside the figure they belong to.
    #[must_use]
    pub fn of(held: &Held) -> Option<Self> {
        Some(match held.limit_texts() {
            [Some(min), Some(max)] => Self::Band { min, max },
            [None, Some(max)] => Self::Max(max),
            [Some(min), None] => Self::Least { min },
            [None, None] => return None,
        })
    }
}

impl Default for LimitsTold {
    fn default() -> Self {
        Self::Max(String::new())
    }
}

impl Columns for LimitsTold {}

/// Both limits, always with both keys; `null` for a limit that does not exist.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = crate::schema::forms().of(crate::schema::length, "min max"))
)]
pub struct LimitsLine {
    /// The smallest allowed figure, in the unit of the line.
    pub min: Option<String>,
    /// The largest allowed figure, in the unit of the line.
    pub max: Option<String>,
}

impl LimitsLine {
    /// The limits as in the record's lines, beside the figure they belong to.
    #[must_use]
    pub fn of(held: &Held) -> Self {
        let [min, max] = held.limit_texts();
        Self { min, max }
    }
}

impl Columns for LimitsLine {}

impl Tell for Limits {
    type Told = LimitsTold;

    fn tell(&self, to: &To<'_>) -> LimitsTold {
        LimitsTold::of(&Held::of(None, to.unit).against(*self).recorded()).unwrap_or_default()
    }

    fn alike(&self, again: &Self) -> bool {
        self == again
    }
}

/// The columns of a line in a spreadsheet: paths into its JSON.
pub trait Columns {
    /// Adds the columns of a value at `path`: the path itself, or those of its parts.
    fn columns(path: &str, all: &mut Vec<String>) {
        all.push(path.to_owned());
    }
}

impl Columns for String {}
impl Columns for f64 {}
impl Columns for u32 {}
impl Columns for bool {}
impl<T> Columns for Vec<T> {}
impl<T> Columns for [T; 2] {}
impl<T: Columns> Columns for Option<T> {
    fn columns(path: &str, all: &mut Vec<String>) {
        T::columns(path, all);
    }
}

/// Describes values once. From each list of fields follow: the exact struct, which is stored as it is; its
/// published line, with each part in the form of its type; the columns of that line; its schema, with the
/// feature `schemas`; and the comparison of two values. An absent value is left out, stored and published.
///
/// `field: Type as Line = function` publishes a field by a function of the whole value, where its digits
/// depend on other parts of it. `told field: Line = function` publishes what follows from the whole value and is not
/// stored.
#[macro_export]
macro_rules! told {
    ($($(#[doc = $about:literal])* $(#[derive($($derived:ident),*)])?
        struct $exact:ident => $line:ident { $($fields:tt)* })*) => { $(
        $crate::told!(@field [$(#[doc = $about])*; $($($derived),*)?] $exact $line [] [] $($fields)*);
    )* };
    (@field $head:tt $exact:ident $line:ident $done:tt [$($only:tt)*]
        $(#[doc = $doc:literal])* told $field:ident : $told:ty = $by:path, $($rest:tt)*) => {
        $crate::told!(@field $head $exact $line $done [$($only)* {
            [$(#[doc = $doc])*] $field ($told) ($by)
        }] $($rest)*);
    };
    (@field $head:tt $exact:ident $line:ident [$($done:tt)*] $only:tt
        $(#[doc = $doc:literal])* $field:ident : Option<$type:ty>, $($rest:tt)*) => {
        $crate::told!(@field $head $exact $line [$($done)* {
            [$(#[doc = $doc])*] [#[serde(default, skip_serializing_if = "Option::is_none")]]
            $field (Option<$type>) (<Option<$type> as $crate::Tell>::Told) ($crate::Tell::tell)
        }] $only $($rest)*);
    };
    (@field $head:tt $exact:ident $line:ident [$($done:tt)*] $only:tt
        $(#[doc = $doc:literal])* $field:ident : Vec<$type:ty>, $($rest:tt)*) => {
        $crate::told!(@field $head $exact $line [$($done)* {
            [$(#[doc = $doc])*] [#[serde(default, skip_serializing_if = "Vec::is_empty")]]
            $field (Vec<$type>) (<Vec<$type> as $crate::Tell>::Told) ($crate::Tell::tell)
        }] $only $($rest)*);
    };
    (@field $head:tt $exact:ident $line:ident [$($done:tt)*] $only:tt
        $(#[doc = $doc:literal])* $field:ident : $type:ty as $told:ty = $by:path, $($rest:tt)*) => {
        $crate::told!(@field $head $exact $line [$($done)* {
            [$(#[doc = $doc])*] [] $field ($type) ($told) (by $by)
        }] $only $($rest)*);
    };
    (@field $head:tt $exact:ident $line:ident [$($done:tt)*] $only:tt
        $(#[doc = $doc:literal])* $field:ident : $type:ty, $($rest:tt)*) => {
        $crate::told!(@field $head $exact $line [$($done)* {
            [$(#[doc = $doc])*] [] $field ($type) (<$type as $crate::Tell>::Told) ($crate::Tell::tell)
        }] $only $($rest)*);
    };
    (@field [$(#[doc = $about:literal])*; $($derived:ident),*] $exact:ident $line:ident [$({
        [$(#[doc = $doc:literal])*] [$(#[$absent:meta])*]
        $field:ident ($type:ty) ($told:ty) ($($by:tt)*)
    })*] [$({
        [$(#[doc = $follows_doc:literal])*] $follows:ident ($follows_told:ty) ($follows_by:path)
    })*]) => {
        $(#[doc = $about])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize, $($derived),*)]
        #[serde(deny_unknown_fields)]
        pub struct $exact { $( $(#[doc = $doc])* $(#[$absent])* pub $field: $type, )* }

        $(#[doc = $about])*
        ///
        /// As its line tells it: lengths in the line's unit.
        #[derive(Debug, Clone, Default, PartialEq, serde::Serialize, serde::Deserialize)]
        pub struct $line {
            $( $(#[doc = $doc])* $(#[$absent])* pub $field: $told, )*
            $( $(#[doc = $follows_doc])* #[serde(default)] pub $follows: $follows_told, )*
        }

        impl $crate::Tell for $exact {
            type Told = $line;

            fn tell(&self, to: &$crate::To<'_>) -> $line {
                $line {
                    $( $field: $crate::told!(@by self $field to $($by)*), )*
                    $( $follows: $follows_by(self, to), )*
                }
            }

            fn alike(&self, again: &Self) -> bool {
                true $( && $crate::Tell::alike(&self.$field, &again.$field) )*
            }
        }

        impl $crate::Columns for $line {
            fn columns(path: &str, all: &mut Vec<String>) {
                $( <$told as $crate::Columns>::columns(
                    &format!("{path}.{}", stringify!($field)), all); )*
                $( <$follows_told as $crate::Columns>::columns(
                    &format!("{path}.{}", stringify!($follows)), all); )*
            }
        }

        #[cfg(feature = "schemas")]
        impl $crate::schema::ToldSchema for $exact {
            fn told(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                generator.subschema_for::<$line>()
            }
        }

        #[cfg(feature = "schemas")]
        impl schemars::JsonSchema for $line {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($line).into()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                $crate::schema::object(concat!($($about),*), vec![$( (
                    stringify!($field),
                    concat!($($doc),*),
                    $crate::told!(@always $($absent)*),
                    <$type as $crate::schema::ToldSchema>::told(generator),
                ), )* $( (
                    stringify!($follows),
                    concat!($($follows_doc),*),
                    true,
                    generator.subschema_for::<$follows_told>(),
                ), )*])
            }
        }
    };
    (@always) => { true };
    (@always $($absent:tt)+) => { false };
    (@by $self:ident $field:ident $to:ident by $by:path) => { $by($self, $to) };
    (@by $self:ident $field:ident $to:ident $by:path) => { $by(&$self.$field, $to) };
}
