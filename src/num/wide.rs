//! Loops over many numbers, in the widest vector instructions of the processor at hand.
//!
//! A program for any processor of a family may use only what the oldest of them has. Here the
//! loops are compiled twice, and the wider copy is taken where the processor knows it. Neither copy
//! changes the order of additions or joins a product to a sum, so the answer is the same to the bit.

use std::sync::LazyLock;

use pulp::Arch;
pub use pulp::NullaryFnOnce;

static HERE: LazyLock<Arch> = LazyLock::new(Arch::new);

/// Runs loops over slices. The work is an object and not a closure because all of it must be
/// inlined here, and what is called from it too: what is not stays narrow.
pub fn widely<W: NullaryFnOnce>(work: W) -> W::Output {
    HERE.dispatch(work)
}

/// Makes a function whose body runs [`widely`]: declares the object that holds the arguments, and
/// hands it over. Lifetimes are named, since the object has them too.
macro_rules! wide_fn {
    (
        $(#[$meta:meta])*
        $vis:vis fn $name:ident<$($life:lifetime),+>($($argument:ident: $kind:ty),+ $(,)?) $body:block
    ) => {
        $crate::num::wide::wide_fn! {
            $(#[$meta])*
            $vis fn $name<$($life),+>($($argument: $kind),+) -> () $body
        }
    };
    (
        $(#[$meta:meta])*
        $vis:vis fn $name:ident<$($life:lifetime),+>($($argument:ident: $kind:ty),+ $(,)?)
            -> $out:ty $body:block
    ) => {
        $(#[$meta])*
        $vis fn $name<$($life),+>($($argument: $kind),+) -> $out {
            struct Work<$($life),+> {
                $($argument: $kind),+
            }
            impl<$($life),+> $crate::num::wide::NullaryFnOnce for Work<$($life),+> {
                type Output = $out;

                #[inline(always)]
                fn call(self) -> Self::Output {
                    let Self { $($argument),+ } = self;
                    $body
                }
            }
            $crate::num::wide::widely(Work { $($argument),+ })
        }
    };
}

pub(crate) use wide_fn;
