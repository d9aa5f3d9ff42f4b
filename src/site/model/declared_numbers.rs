//! Tables of site.toml that hold numbers with a usual value each.

/// Declares each number once: its name is the key in the table, its documentation what `tapoff explain` shows.
macro_rules! declared_numbers {
    (
        #[doc = $of:literal] $table:ident;
        $($(#[doc = $doc:literal])* $name:ident = $default:expr, $low:expr, $high:expr, $unit:expr;)*
    ) => {
        #[doc = $of]
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $table {
            $($(#[doc = $doc])* pub $name: f64,)*
        }

        impl $table {
            /// The keys of the table.
            pub(crate) const KEYS: &'static [::declaration::Key] = &[$(
                ::declaration::Key::number(
                    stringify!($name),
                    ($low, $high, $unit),
                    stringify!($default),
                    concat!($($doc),*),
                )
                .or(stringify!($default)),
            )*];

            /// Each number as `of` gives it for its name and its usual value.
            pub(crate) fn each(mut of: impl FnMut(&'static str, f64) -> f64) -> Self {
                $table {
                    $($name: of(stringify!($name), $default),)*
                }
            }
        }

        impl Default for $table {
            fn default() -> Self {
                Self::each(|_, usual| usual)
            }
        }
    };
}

pub(crate) use declared_numbers;
