//! Choices that are told by a word.

/// Describes a choice and its words once: the enum, all of its values in this order, the word of each
/// and what it means, and the value of a word. It is stored by its word.
#[macro_export]
macro_rules! worded {
    ($(#[$about:meta])* $vis:vis enum $name:ident {
        $( $(#[doc = $doc:literal])* $(#[default $($never:ident)?])? $value:ident = $word:literal, )*
    }) => {
        $(#[$about])*
        $vis enum $name { $( $(#[doc = $doc])* $(#[default] $($never)?)? $value, )* }

        impl $name {
            /// Every one, in order.
            pub const ALL: [Self; [$($word),*].len()] = [$( Self::$value ),*];

            /// Each word with what it means.
            pub const WORDS: &[(&'static str, &'static str)] =
                &[$( ($word, concat!($($doc),*)) ),*];

            /// The word, as it is printed and stored.
            #[must_use]
            pub const fn text(self) -> &'static str {
                match self { $( Self::$value => $word, )* }
            }

            /// The one of a word.
            #[must_use]
            pub fn parse(text: &str) -> Option<Self> {
                match text { $( $word => Some(Self::$value), )* _ => None }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.text())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let text = <std::borrow::Cow<'de, str>>::deserialize(from)?;
                let none = || serde::de::Error::unknown_variant(&text, &[$($word),*]);
                Self::parse(&text).ok_or_else(none)
            }
        }
    };
}
