//! The names of the fields of a struct, from its description.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error as _, Visitor};

/// The fields of a struct in the order of their description, without reading a value.
///
/// # Panics
/// When it is not a plain struct: an error in this program.
#[must_use]
pub fn fields_of<'de, T: Deserialize<'de>>() -> &'static [&'static str] {
    let Err(Asked(fields)) = T::deserialize(Asking) else { unreachable!("nothing can be read") };
    fields.expect("a line is a plain struct")
}

/// Reads nothing: it only learns which fields a type asks for.
struct Asking;

/// The fields that a type asked for; `None` where it is not a struct.
#[derive(Debug)]
struct Asked(Option<&'static [&'static str]>);

impl fmt::Display for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("nothing is read here")
    }
}

impl std::error::Error for Asked {}

impl serde::de::Error for Asked {
    fn custom<T: fmt::Display>(_: T) -> Self {
        Self(None)
    }
}

impl<'de> Deserializer<'de> for Asking {
    type Error = Asked;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Asked> {
        Err(Asked::custom("no struct"))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Asked> {
        Err(Asked(Some(fields)))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}
