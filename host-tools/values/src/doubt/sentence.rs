//! From a doubt's fields to its sentence and back, both by the one template beside each
//! variant.

use std::collections::BTreeMap;
use std::str::FromStr;

/// What stands in a sentence where its template has `{names}`.
pub(super) struct SentenceFields<'a>(BTreeMap<&'a str, &'a str>);

impl<'a> SentenceFields<'a> {
    /// Lays a template over a sentence. Each field takes as little of the text as it can.
    /// `None` where the fixed words differ.
    pub(super) fn find(template: &'a str, sentence: &'a str) -> Option<Self> {
        let mut fields = BTreeMap::new();
        let mut pieces = template.split('{');
        let mut rest = sentence.strip_prefix(pieces.next()?)?;
        let mut pieces = pieces.peekable();
        while let Some(piece) = pieces.next() {
            let (name, words) = piece.split_once('}')?;
            let end = if pieces.peek().is_none() {
                rest.ends_with(words).then(|| rest.len() - words.len())
            } else {
                rest.find(words)
            };
            let (field, after) = rest.split_at(end?);
            fields.insert(name, field);
            rest = &after[words.len()..];
        }
        rest.is_empty().then_some(Self(fields))
    }

    /// A field of that name; `None` where its text is not of that type.
    pub(super) fn get<T: FromStr>(&self, name: &str) -> Option<T> {
        self.0.get(name)?.parse().ok()
    }
}

/// Declares a family of doubts: each variant with its sentence, in which `{field}` stands
/// for a field, and behind `|` the sentences that older programs stored for it.
macro_rules! doubts {
    (
        $(#[$about:meta])*
        pub enum $family:ident {
            $(
                $(#[$kind_about:meta])*
                $kind:ident $({
                    $( $(#[$field_about:meta])* $field:ident: $type:ty ),+ $(,)?
                })? => $sentence:literal $(| $older:literal)*
            ),+ $(,)?
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq)]
        pub enum $family {
            $(
                $(#[$kind_about])*
                $kind $({ $( $(#[$field_about])* $field: $type ),+ })?
            ),+
        }

        impl std::fmt::Display for $family {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                match self {
                    $( Self::$kind $({ $($field),+ })? => write!(f, $sentence) ),+
                }
            }
        }

        impl $family {
            /// The doubt that has this sentence.
            pub(super) fn read(sentence: &str) -> Option<Self> {
                $(
                    let with = |template: &str| {
                        let _fields = crate::doubt::sentence::SentenceFields::find(template, sentence)?;
                        Some(Self::$kind $({ $( $field: _fields.get(stringify!($field))? ),+ })?)
                    };
                    // A number with a zero before it would be written in another way.
                    if let Some(doubt) = with($sentence).filter(|doubt| doubt.to_string() == sentence) {
                        return Some(doubt);
                    }
                    $(
                        if let Some(doubt) = with($older) {
                            return Some(doubt);
                        }
                    )*
                )+
                None
            }

            /// Any doubt of the family, each kind as often as another.
            #[cfg(test)]
            pub(super) fn any() -> proptest::strategy::BoxedStrategy<Self> {
                use proptest::prelude::{Just, Strategy as _};
                use crate::doubt::tests::FieldSample;
                proptest::strategy::Union::new([$(
                    (Just(()), $($( <$type as FieldSample>::any(), )+)?)
                        .prop_map(|((), $($($field,)+)?)| Self::$kind $({ $($field),+ })?)
                        .boxed()
                ),+])
                .boxed()
            }
        }
    };
}

/// Declares the enum over all families, with a variant for everything else.
macro_rules! families {
    (
        $(#[$about:meta])*
        pub enum $all:ident {
            $( $(#[$family_about:meta])* $variant:ident($family:ident) ),+ $(,)?
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq)]
        pub enum $all {
            $( $(#[$family_about])* $variant($family), )+
            /// Words that come from elsewhere: the operating system, a damaged file, an
            /// older program.
            Other(String),
        }

        impl $all {
            /// The doubt that has this sentence.
            pub fn read(sentence: &str) -> Self {
                $(
                    if let Some(doubt) = $family::read(sentence) {
                        return Self::$variant(doubt);
                    }
                )+
                Self::Other(sentence.to_owned())
            }

            /// Any doubt of any family.
            #[cfg(test)]
            fn any() -> proptest::strategy::BoxedStrategy<Self> {
                use proptest::prelude::Strategy as _;
                proptest::strategy::Union::new([$( $family::any().prop_map(Self::from).boxed() ),+])
                    .boxed()
            }
        }

        impl fmt::Display for $all {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                match self {
                    $( Self::$variant(doubt) => doubt.fmt(f), )+
                    Self::Other(words) => f.write_str(words),
                }
            }
        }

        $(
            impl From<$family> for $all {
                fn from(doubt: $family) -> Self {
                    Self::$variant(doubt)
                }
            }
        )+
    };
}
