//! Choices that are written as words.

/// Describes a choice and its words in one place. It makes the enum, the list of all its values in
/// this order, the word of each value with its meaning, and reading a value from its word. A value is
/// stored as its word.
#[macro_export]
macro_rules! worded {
    ($(#[$about:meta])* $vis:vis enum $name:ident {
        $( $(#[doc = $doc:literal])* $(#[default $($never:ident)?])? $value:ident = $word:literal, )*
    }) => {
        $(#[$about])*
        $vis enum $name { $( $(#[doc = $doc])* $(#[default] $($never)?)? $value, )* }

        impl $name {
            /// All values, in order.
            pub const ALL: [Self; [$($word),*].len()] = [$( Self::$value ),*];

            /// Each word with its meaning.
            pub const WORDS: &[(&'static str, &'static str)] =
                &[$( ($word, concat!($($doc),*)) ),*];

            /// The word of this value, as printed and stored.
            #[must_use]
            pub const fn text(self) -> &'static str {
                match self { $( Self::$value => $word, )* }
            }

            /// The value that a word stands for.
            #[must_use]
            pub fn parse(text: &str) -> Option<Self> {
                match text { $( $word => Some(Self::$value), )* _ => None }
            }
        }

        impl $crate::serde::Serialize for $name {
            fn serialize<S: $crate::serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.text())
            }
        }

        impl<'de> $crate::serde::Deserialize<'de> for $name {
            fn deserialize<D: $crate::serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let text = <std::borrow::Cow<'de, str>>::deserialize(from)?;
                let none = || $crate::serde::de::Error::unknown_variant(&text, &[$($word),*]);
                Self::parse(&text).ok_or_else(none)
            }
        }

        #[cfg(feature = "schemas")]
        impl $crate::schemars::JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(_: &mut $crate::schemars::SchemaGenerator) -> $crate::schemars::Schema {
                $crate::schema_of_words(Self::WORDS)
            }
        }
    };
}

/// The schema of one of these words, each with what it means.
#[cfg(feature = "schemas")]
#[must_use]
pub fn schema_of_words(all: &[(&str, &str)]) -> schemars::Schema {
    let word = |(word, about): &(&str, &str)| schemars::json_schema!({ "const": word, "description": about.trim() });
    schemars::json_schema!({ "oneOf": all.iter().map(word).collect::<Vec<_>>() })
}
