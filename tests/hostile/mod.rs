//! Files that state what they do not hold, odd machines, full disks: nothing may end the process, hang
//! it, or take more memory than a recording does.

mod arrow;
mod bombs;
mod disks;
mod machines;
mod patch;
mod random;
mod run;
mod texts;
