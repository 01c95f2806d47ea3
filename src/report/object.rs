//! An object of a JSON report: each key written once, with its meaning, type and value.

/// A struct made by `new` from the arguments in brackets (after the semicolon what is calculated first), and its
/// keys in the order in which they are written.
macro_rules! object {
    (
        $(#[$about:meta])*
        $vis:vis struct $name:ident($($given:ident: $of:ty),* $(; $($first:pat = $made:expr),*)?) {
            $($(#[$meaning:meta])* $key:ident: $kind:ty = $value:expr,)*
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, serde::Serialize, schemars::JsonSchema)]
        #[serde(deny_unknown_fields)]
        $vis struct $name {
            $($(#[$meaning])* $key: $kind,)*
        }

        impl $name {
            $vis fn new($($given: $of),*) -> Self {
                $($(let $first = $made;)*)?
                Self { $($key: $value,)* }
            }
        }
    };
}
