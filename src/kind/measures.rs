//! How the kinds of check become one type, whichever of them a check is.

macro_rules! kinds {
    ($( $file:ident::$kind:ident, )*) => {
        $( pub use self::$file::$kind; )*

        #[derive(Clone, PartialEq)]
        enum Which { $( $kind($file::$kind), )* }

        /// What a check measures. Other code does not ask which kind it is, but asks the kind its
        /// questions.
        #[derive(Clone, PartialEq)]
        pub struct Measures(Which);

        impl Measures {
            /// Each word with its meaning.
            pub const WORDS: &[(&'static str, &'static str)] =
                &[$( ($file::$kind::TRAITS.word, $file::$kind::TRAITS.about) ),*];

            /// The properties of each kind.
            pub const KINDS: &[&Traits] = &[$( &$file::$kind::TRAITS ),*];

            /// Reads a check of the kind of a word.
            pub fn read(word: &str, keys: &impl $crate::keys::Keys) -> $crate::keys::ReadCheck {
                $( if word == $file::$kind::TRAITS.word { return $file::$kind::read(keys); } )*
                None
            }

            /// The properties of the kind with a word.
            #[must_use]
            pub fn parse(word: &str) -> Option<&'static Traits> {
                Self::KINDS.iter().find(|traits| traits.word == word).copied()
            }
        }

        impl std::ops::Deref for Measures {
            type Target = dyn Kind;

            fn deref(&self) -> &Self::Target {
                match &self.0 { $( Which::$kind(kind) => kind, )* }
            }
        }

        impl std::fmt::Debug for Measures {
            fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                match &self.0 { $( Which::$kind(kind) => std::fmt::Debug::fmt(kind, to), )* }
            }
        }

        impl Measures {
            /// The value as one kind, for tests that check what was read.
            ///
            /// # Panics
            /// When it is of another kind.
            #[cfg(any(test, feature = "trial"))]
            #[must_use]
            pub fn told<K: Clone + 'static>(&self) -> K {
                let own: &dyn std::any::Any = match &self.0 { $( Which::$kind(kind) => kind, )* };
                own.downcast_ref::<K>().expect("another kind").clone()
            }
        }

        $(
            impl From<$file::$kind> for Measures {
                fn from(kind: $file::$kind) -> Self {
                    Self(Which::$kind(kind))
                }
            }
        )*
    };
}

pub(crate) use kinds;
