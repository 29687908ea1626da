//! Loops over many numbers, in the widest vector instructions of the processor at hand.
//!
//! A program for any processor of a family may use only what the oldest of them has. Here the
//! loops are compiled twice, and the wider copy is taken where the processor knows it. Neither copy
//! changes the order of additions or joins a product to a sum, so the answer is the same to the bit.
#![expect(clippy::inline_always, reason = "what is not inlined stays narrow")]

use std::sync::LazyLock;

pub use pulp::NullaryFnOnce;
use pulp::{Arch, Scalar256b, Simd, f32x8, f64x4, m32x8};

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

/// Vectors of eight `f32` and four `f64`. Where sums stand in lanes the compiler may pair what it
/// should not, and then the loop is hardly quicker than one by one: such loops are written in these.
pub trait Eight: Simd<f32s = f32x8, f64s = f64x4, m32s = m32x8> {
    /// The first four and the last four, in double precision.
    fn doubled(self, eight: f32x8) -> [f64x4; 2];
}

impl Eight for Scalar256b {
    #[inline(always)]
    fn doubled(self, eight: f32x8) -> [f64x4; 2] {
        let [a, b, c, d, e, f, g, h] = pulp::cast::<f32x8, [f32; 8]>(eight).map(f64::from);
        [f64x4(a, b, c, d), f64x4(e, f, g, h)]
    }
}

#[cfg(target_arch = "x86_64")]
impl Eight for pulp::x86::V3 {
    #[inline(always)]
    fn doubled(self, eight: f32x8) -> [f64x4; 2] {
        let [low, high] = pulp::cast::<f32x8, [pulp::f32x4; 2]>(eight);
        [self.convert_f32x4_to_f64x4(low), self.convert_f32x4_to_f64x4(high)]
    }
}

/// Whether any of eight holds.
#[inline(always)]
pub fn any(eight: m32x8) -> bool {
    let [a, b, c, d] = pulp::cast::<m32x8, [u64; 4]>(eight);
    (a | b | c | d) != 0
}

/// Eight values from a place on; zeros beyond the last.
#[inline(always)]
pub fn eight_from(values: &[f32], at: usize) -> f32x8 {
    let rest = values.get(at..).unwrap_or(&[]);
    if let Some(whole) = rest.first_chunk::<8>() {
        return pulp::cast(*whole);
    }
    let mut part = [0.0; 8];
    part[..rest.len()].copy_from_slice(rest);
    pulp::cast(part)
}

/// Loops in vectors of eight.
pub trait Eights {
    /// What comes of them.
    type Output;
    /// Runs them. As with [`widely`], all of it must be inlined.
    fn call<S: Eight>(self, simd: S) -> Self::Output;
}

/// Runs loops in vectors of eight: those of the processor, or eight numbers one by one. The
/// additions are the same in both, and so is the answer, to the bit.
pub fn in_eights<W: Eights>(work: W) -> W::Output {
    #[cfg(target_arch = "x86_64")]
    if let Arch::V3(simd) = *HERE {
        return simd.vectorize(OnV3 { work, simd });
    }
    work.call(Scalar256b)
}

#[cfg(target_arch = "x86_64")]
struct OnV3<W> {
    work: W,
    simd: pulp::x86::V3,
}

#[cfg(target_arch = "x86_64")]
impl<W: Eights> NullaryFnOnce for OnV3<W> {
    type Output = W::Output;

    #[inline(always)]
    fn call(self) -> W::Output {
        self.work.call(self.simd)
    }
}

/// Makes a function whose body runs [`in_eights`], as `wide_fn` does; its first argument is the
/// name by which the body calls the vectors.
macro_rules! eight_fn {
    (
        $(#[$meta:meta])*
        $vis:vis fn $name:ident<$($life:lifetime),+>(
            $simd:ident, $($argument:ident: $kind:ty),+ $(,)?
        ) -> $out:ty $body:block
    ) => {
        $(#[$meta])*
        $vis fn $name<$($life),+>($($argument: $kind),+) -> $out {
            struct Work<$($life),+> {
                $($argument: $kind),+
            }
            impl<$($life),+> $crate::num::wide::Eights for Work<$($life),+> {
                type Output = $out;

                #[inline(always)]
                fn call<S: $crate::num::wide::Eight>(self, $simd: S) -> Self::Output {
                    let Self { $($argument),+ } = self;
                    $body
                }
            }
            $crate::num::wide::in_eights(Work { $($argument),+ })
        }
    };
}

pub(crate) use eight_fn;

#[cfg(test)]
mod tests {
    use super::*;

    struct Sum<'a>(&'a [f32]);

    impl Eights for Sum<'_> {
        type Output = [f64; 4];

        #[inline(always)]
        fn call<S: Eight>(self, simd: S) -> [f64; 4] {
            let mut sums = simd.splat_f64s(0.0);
            for eight in self.0.as_chunks::<8>().0 {
                let [low, high] = simd.doubled(pulp::cast(*eight));
                sums = simd.add_f64s(sums, simd.add_f64s(simd.mul_f64s(low, low), high));
            }
            pulp::cast(sums)
        }
    }

    /// Numbers whose sum depends on the order in which they are added.
    #[test]
    fn vectors_and_numbers_one_by_one_give_the_same_bits() {
        let values: Vec<f32> = (0..640u16).map(|i| (f32::from(i) * 0.37).sin() * 1e3).collect();
        assert_eq!(in_eights(Sum(&values)), Sum(&values).call(Scalar256b));
    }
}
