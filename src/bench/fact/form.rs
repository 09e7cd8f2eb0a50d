//! How a fact is described once: its type is its stored form, and one function visits the numbers of
//! other rows in it.
//!
//! A stored form only grows: from the first release on a field is added with a default that means "as
//! before", and nothing changes its meaning. `fixtures/facts/` holds one of each fact as it is stored.

use std::sync::Arc;

use crate::fact::seq::Seq;

/// Numbers of other rows inside a value.
pub trait RefersToRows {
    /// Visits each, with the name of the field it stands in: `job`, `attempt`, `reading`, `alert`,
    /// `file`, `attached` or `combined` (attempts).
    fn numbers(&mut self, field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq));
}

impl RefersToRows for Seq {
    fn numbers(&mut self, field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        visit(field, self);
    }
}

impl<T: RefersToRows> RefersToRows for Option<T> {
    fn numbers(&mut self, field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        if let Some(value) = self {
            value.numbers(field, visit);
        }
    }
}

impl<T: RefersToRows> RefersToRows for Vec<T> {
    fn numbers(&mut self, field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        for value in self {
            value.numbers(field, visit);
        }
    }
}

impl<T: RefersToRows + Clone> RefersToRows for Arc<T> {
    fn numbers(&mut self, field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        Self::make_mut(self).numbers(field, visit);
    }
}

/// Types that hold no number of a row. One that is not declared does not compile inside a fact.
macro_rules! no_numbers {
    ($($type:ty),* $(,)?) => { $(
        impl $crate::fact::form::RefersToRows for $type {
            fn numbers(
                &mut self,
                _field: &'static str,
                _visit: &mut dyn FnMut(&'static str, &mut $crate::fact::seq::Seq),
            ) {
            }
        }
    )* };
}
pub(crate) use no_numbers;

no_numbers! {
    bool, u8, u16, u32, u64, String,
    quantity::Figure, quantity::Length, quantity::Name, quantity::Quoted, quantity::Unit, quantity::Wall,
    judgement::Coverage, judgement::Known, judgement::Limits, judgement::Reason, judgement::Rule,
    judgement::Word,
    [u8; 32],
}

/// A part of a fact. Its fields are stored by name; an absent value is left out, and an unknown field is
/// refused.
macro_rules! stored {
    ($($(#[$about:meta])* pub struct $name:ident { $($fields:tt)* })*) => { $(
        $crate::fact::form::stored!(@field [$(#[$about])*] $name [] $($fields)*);
    )* };
    (@field $head:tt $name:ident [$($done:tt)*]
        $(#[$meta:meta])* pub $field:ident : Option<$type:ty>, $($rest:tt)*) => {
        $crate::fact::form::stored!(@field $head $name [$($done)* {
            [$(#[$meta])* #[serde(default, skip_serializing_if = "Option::is_none")]]
            $field (Option<$type>)
        }] $($rest)*);
    };
    (@field $head:tt $name:ident [$($done:tt)*]
        $(#[$meta:meta])* pub $field:ident : Vec<$type:ty>, $($rest:tt)*) => {
        $crate::fact::form::stored!(@field $head $name [$($done)* {
            [$(#[$meta])* #[serde(default, skip_serializing_if = "Vec::is_empty")]]
            $field (Vec<$type>)
        }] $($rest)*);
    };
    (@field $head:tt $name:ident [$($done:tt)*]
        $(#[$meta:meta])* pub $field:ident : $type:ty, $($rest:tt)*) => {
        $crate::fact::form::stored!(@field $head $name [$($done)* { [$(#[$meta])*] $field ($type) }] $($rest)*);
    };
    (@field [$(#[$about:meta])*] $name:ident [$({
        [$(#[$meta:meta])*] $field:ident ($type:ty)
    })*]) => {
        $(#[$about])*
        #[derive(serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name { $( $(#[$meta])* pub $field: $type, )* }

        impl $crate::fact::form::RefersToRows for $name {
            fn numbers(
                &mut self,
                _field: &'static str,
                visit: &mut dyn FnMut(&'static str, &mut $crate::fact::seq::Seq),
            ) {
                $( self.$field.numbers(stringify!($field), visit); )*
            }
        }
    };
}
pub(crate) use stored;

/// The facts: each variant with the word it is stored under.
macro_rules! facts {
    ($(#[$about:meta])* pub enum $name:ident { $(
        $(#[$doc:meta])* $fact:ident = $word:literal
            $({ $( $(#[$field_doc:meta])* $field:ident : $type:ty, )* })?
            $(($inner:ident : $inner_type:ty $(, by $read:path)?))?,
    )* }) => {
        $(#[$about])*
        pub enum $name { $(
            $(#[$doc])* $fact $({ $( $(#[$field_doc])* $field: $type, )* })? $(($inner_type))?,
        )* }

        impl $name {
            /// The word of each fact.
            pub const KINDS: &'static [&'static str] = &[$($word),*];

            /// The word it is stored under.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $( Self::$fact { .. } => $word, )* }
            }

            /// Reads the fact that is stored under a word; `None` where no fact has it.
            ///
            /// # Errors
            /// A form that this fact does not have.
            pub fn read<'de, D: serde::Deserializer<'de>>(
                kind: &str,
                from: D,
                parse: $crate::fact::seq::ParsePlan,
            ) -> Result<Option<Self>, D::Error> {
                match kind { $( $word => {
                    $( $crate::fact::form::facts!(@fields $fact from { $( $field: $type, )* }) )?
                    $( $crate::fact::form::facts!(@inner $fact from parse ($inner_type $(, $read)?)) )?
                } )*
                    _ => Ok(None),
                }
            }
        }

        impl serde::Serialize for $name {
            /// The content of the fact, without its word.
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                match self { $(
                    Self::$fact $({ $($field),* })? $(($inner))? => {
                        $( $crate::fact::form::facts!(@write to { $( $field: $type, )* }) )?
                        $( serde::Serialize::serialize($inner, to) )?
                    }
                )* }
            }
        }

        impl $crate::fact::form::RefersToRows for $name {
            fn numbers(
                &mut self,
                of: &'static str,
                visit: &mut dyn FnMut(&'static str, &mut $crate::fact::seq::Seq),
            ) {
                match self { $(
                    Self::$fact $({ $($field),* })? $(($inner))? => {
                        $( let _ = of; $( $field.numbers(stringify!($field), visit); )* )?
                        $( $inner.numbers(of, visit); )?
                    }
                )* }
            }
        }
    };
    (@fields $fact:ident $from:ident { $( $field:ident : $type:ty, )* }) => {{
        #[derive(serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Fields { $( $field: $type, )* }
        let Fields { $($field),* } = serde::Deserialize::deserialize($from)?;
        Ok(Some(Self::$fact { $($field),* }))
    }};
    (@write $to:ident { $( $field:ident : $type:ty, )* }) => {{
        #[derive(serde::Serialize)]
        struct Fields<'a> { $( $field: &'a $type, )* }
        serde::Serialize::serialize(&Fields { $($field),* }, $to)
    }};
    (@inner $fact:ident $from:ident $parse:ident ($type:ty)) => {{
        let _ = $parse;
        Ok(Some(Self::$fact(<$type as serde::Deserialize>::deserialize($from)?)))
    }};
    (@inner $fact:ident $from:ident $parse:ident ($type:ty, $read:path)) => {
        Ok(Some(Self::$fact($read($from, $parse)?)))
    };
}
pub(crate) use facts;

/// A digest as its hexadecimal digits.
pub(crate) mod hexadecimal {
    use serde::{Deserialize, Deserializer, Serializer, de};

    pub(crate) fn serialize<S: Serializer>(bytes: &[u8; 32], to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&quantity::hexadecimal(bytes))
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<[u8; 32], D::Error> {
        let text = String::deserialize(from)?;
        quantity::from_hexadecimal(&text)
            .ok_or_else(|| de::Error::custom(format!("{text:?} is no digest")))
    }
}
