//! A mobile base: does it go where its wheels say?

pub mod base_motion;
