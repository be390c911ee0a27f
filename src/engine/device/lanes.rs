//! How a law's parameters get into the lanes of a wide number: one place lists them all.

/// Gives a law `set_lane` and `splat`, from the names of its parameters and of the laws within it.
macro_rules! lanes {
    ($law:ident { $($value:ident),* $(,)? } $({ $inner:ident: $inner_law:ident })?) => {
        impl<T: $crate::numeric::real::Real> $law<T> {
            /// Copies one lane's parameters from a single law.
            pub fn set_lane(&mut self, lane: usize, law: &$law<f64>) {
                $(self.$value.set_lane(lane, law.$value);)*
                $(self.$inner.set_lane(lane, &law.$inner);)?
            }

            /// The same law in every lane.
            pub fn splat(law: &$law<f64>) -> Self {
                $law {
                    $($value: T::splat(law.$value),)*
                    $($inner: $inner_law::splat(&law.$inner),)?
                }
            }
        }
    };
}

pub(crate) use lanes;
