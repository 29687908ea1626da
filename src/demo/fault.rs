//! Everything that can be planted, with its size and the check that should name it.

use serde::{Deserialize, Serialize};

/// A fault and its size. The sizes are what the data shows, not a knob of the simulation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Fault {
    /// The logger lost rows.
    DroppedFrames {
        /// Share of the episode's frames.
        share: f64,
        /// Frames lost at a time.
        burst: usize,
    },
    /// The logger stopped once.
    LongGap {
        /// Seconds of rows lost.
        seconds: f64,
    },
    /// Rows were written twice, stamp and all.
    RepeatedFrames {
        /// Share of the episode's frames.
        share: f64,
    },
    /// The loop's cycles start unevenly.
    Jitter {
        /// 95th percentile of the step's departure from its median, in periods; at most 0.38.
        share: f64,
    },
    /// The loop runs at another rate than declared.
    SlowLoop {
        /// The true rate, hertz.
        rate_hz: f64,
    },
    /// The clock was set back in the middle of the episode.
    ClockBackward {
        /// By how much.
        seconds: f64,
    },
    /// Stamps were made from the row number and the declared rate.
    SyntheticStamps,
    /// Stamps were stored in 32 bits.
    CoarseStamps {
        /// What the clock showed, seconds: 1.7e9 for an epoch clock.
        origin_s: f64,
    },
    /// The follower's values are missing (NaN).
    MissingValues {
        /// Share of the joint's frames.
        share: f64,
        /// Frames in a row.
        run: usize,
    },
    /// The joint stands at a mechanical stop while the leader pushes on.
    LimitDwell {
        /// How far the leader pushes past the stop, degrees.
        push_deg: f64,
        /// A stop nearer than the rig's own, degrees; none: the target lies beyond the rig's.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stop_deg: Option<f64>,
    },
    /// The follower's joint never moves.
    DeadJoint,
    /// A joint that the task never uses: leader and follower read the same all the time.
    UnusedJoint,
    /// Dead time added to every joint.
    LagAll {
        /// Milliseconds more.
        ms: f64,
    },
    /// Dead time added to one joint.
    LagJoint {
        /// Milliseconds more.
        ms: f64,
    },
    /// A gain too low for its load: the joint droops with the pose.
    TrackingError {
        /// Droop at either end of the episode's load, degrees.
        deg: f64,
    },
    /// Something else was done: a plug taken to a far table, by another path.
    Outlier {
        /// How many times farther round the far table lies than the usual pots, which are 40
        /// degrees off the middle.
        reach: f64,
    },
    /// The servo bus timed out in motion: the last reading was handed out again.
    StaleReadings {
        /// Share of the episode's frames; of one joint, or of the whole row.
        share: f64,
    },
    /// The follower's readings stand still while the leader moves.
    FrozenFollower {
        /// For how long.
        seconds: f64,
    },
    /// The leader's readings stand still; the follower settles.
    FrozenLeader {
        /// For how long.
        seconds: f64,
    },
    /// Bit errors: single wrong readings.
    Spikes {
        /// How many.
        count: usize,
        /// How far off, degrees.
        deg: f64,
    },
    /// The encoder's zero is inside the work range, on both arms.
    EncoderWrap,
    /// The follower's neutral point differs from the leader's.
    NeutralOffset {
        /// Follower minus leader, degrees.
        deg: f64,
    },
    /// The two ranges differ.
    GainMismatch {
        /// Follower's motion over leader's.
        factor: f64,
    },
    /// The readings of two servos are exchanged.
    SwappedJoints {
        /// Name of the other joint.
        with: String,
    },
    /// A direction flag is wrong.
    SignFlip,
    /// Torque was off: one joint, or all of them.
    TrackingLoss {
        /// For how long.
        seconds: f64,
    },
    /// Somebody pushed the follower while the leader was at rest.
    ExternalDisturbance {
        /// How far, degrees.
        deg: f64,
    },
    /// Nothing happens at first.
    IdleHead {
        /// For how long.
        seconds: f64,
    },
    /// Nothing happens at the end.
    IdleTail {
        /// For how long.
        seconds: f64,
    },
    /// The recording ends in motion.
    CutShort,
    /// The gripper closes on nothing.
    NoGrasp,
    /// The hand carries one joint past its stop, holds it there, and comes back.
    Overreach {
        /// How far past the stop, degrees.
        push_deg: f64,
        /// For how long it is held there.
        seconds: f64,
    },
    /// The hand swings the arm from place to place too fast.
    FastHand {
        /// Peak speed of the joint that has the farthest to go, degrees a second.
        deg_s: f64,
    },
    /// The hand searches: it circles while it moves.
    Searching {
        /// Amplitude of the circles, degrees.
        deg: f64,
    },
    /// The leader's joint sticks and slips.
    StickSlip {
        /// How far the hand gets before the joint follows, degrees.
        deg: f64,
    },
    /// The leader was let go and gripped again at another angle: its reading jumps.
    Clutch {
        /// The jump over the loop's period, degrees a second.
        deg_s: f64,
    },
    /// The recording was broken off.
    Aborted {
        /// How long it lasted.
        seconds: f64,
    },
    /// The follower hunts about its target while the leader rests.
    Hunting {
        /// Its swing from peak to peak, degrees.
        deg: f64,
        /// How often, hertz.
        hertz: f64,
    },
    /// Worn gears.
    Backlash {
        /// Their backlash from stop to stop, degrees.
        deg: f64,
    },
    /// Something pulls at the joint, now here, now there: a cable, a load that swings.
    LoadSurges {
        /// How far it yields, degrees.
        deg: f64,
    },
    /// The bus slows down as the episode goes on.
    LagDrift {
        /// Dead time added at the end, milliseconds.
        ms: f64,
    },
    /// Positions were rounded before they were stored, in both columns.
    CoarseQuantisation {
        /// To multiples of this, degrees.
        deg: f64,
    },
    /// A negative number of counts was read without its sign.
    DecodeError {
        /// What was read instead of the sign: 2048 or 32768 for a sign bit, 65536 for two's
        /// complement of 16 bits.
        weight: f64,
    },
    /// The two columns are exchanged.
    SwappedArms,
    /// The follower's joint is stored in another unit than the leader's.
    UnitMismatch {
        /// Its values over what they should be.
        factor: f64,
    },
    /// The action is a copy of the state.
    ActionIsState,
    /// The action is a copy of the next row's state.
    ActionIsNextState,
    /// A copy of another episode, stamps and all.
    DuplicateEpisode {
        /// Number of the other.
        of: u64,
    },
}

impl Fault {
    /// Its name, as in a recipe.
    pub const fn kind(&self) -> &'static str {
        self.names().0
    }

    /// The check that should name it.
    pub const fn check(&self) -> &'static str {
        self.names().1
    }

    /// Checks that may rightly report it too.
    pub const fn may_also(&self) -> &'static [&'static str] {
        match self {
            Self::DroppedFrames { .. } | Self::LongGap { .. } | Self::RepeatedFrames { .. } => {
                &["frame-rate", "outlier-episode"]
            }
            Self::Overreach { .. } => &["limit-dwell", "tracking-error", "outlier-episode"],
            Self::LimitDwell { .. } => &[
                "leader-overreach",
                "lag-variation",
                "neutral-offset",
                "tracking-error",
                "tracking-lag",
                "outlier-episode",
            ],
            Self::DeadJoint => &["tracking-error", "tracking-loss", "outlier-episode"],
            Self::LagAll { .. } | Self::LagJoint { .. } => {
                &["tracking-error", "lag-variation", "outlier-episode"]
            }
            Self::LoadSurges { .. } => &[
                "backlash",
                "gain-mismatch",
                "external-disturbance",
                "neutral-offset",
                "gravity-sag",
                "tracking-lag",
                "contact-outlier",
                "outlier-episode",
            ],
            Self::TrackingError { .. } => &[
                "tracking-lag",
                "gravity-sag",
                "gain-mismatch",
                "neutral-offset",
                "backlash",
                "outlier-episode",
            ],
            Self::FrozenFollower { .. } | Self::TrackingLoss { .. } => {
                &["tracking-loss", "tracking-error", "tracking-lag", "outlier-episode"]
            }
            Self::FrozenLeader { .. } => {
                &["idle-time", "action-steps", "outlier-episode", "motion-outlier"]
            }
            Self::Aborted { .. } | Self::CutShort => {
                &["duration-outlier", "mixed-endings", "outlier-episode", "missing-grasp"]
            }
            Self::IdleHead { .. } | Self::IdleTail { .. } => &["duration-outlier"],
            Self::Searching { .. } => &["motion-outlier", "duration-outlier", "outlier-episode"],
            Self::StickSlip { .. } => &["stick-slip-outlier", "motion-outlier", "outlier-episode"],
            Self::LagDrift { .. } => &["session-drift", "outlier-episode"],
            Self::Outlier { .. } => {
                &["duration", "start-pose", "duration-outlier", "motion-outlier"]
            }
            Self::EncoderWrap | Self::SignFlip | Self::SwappedJoints { .. } => {
                &["tracking-lag", "tracking-error", "neutral-offset", "outlier-episode"]
            }
            Self::SlowLoop { .. } => &["dropped-frames"],
            Self::ClockBackward { .. } => &["dropped-frames", "timestamp-jitter"],
            Self::CoarseStamps { .. } => {
                &["repeated-frames", "timestamp-jitter", "non-monotonic-time", "dropped-frames"]
            }
            _ => &[],
        }
    }

    /// Whether it makes sense only on one joint.
    pub const fn needs_joint(&self) -> bool {
        matches!(
            self,
            Self::MissingValues { .. }
                | Self::LimitDwell { .. }
                | Self::DeadJoint
                | Self::UnusedJoint
                | Self::LagJoint { .. }
                | Self::TrackingError { .. }
                | Self::Spikes { .. }
                | Self::EncoderWrap
                | Self::NeutralOffset { .. }
                | Self::GainMismatch { .. }
                | Self::SwappedJoints { .. }
                | Self::SignFlip
                | Self::ExternalDisturbance { .. }
                | Self::Overreach { .. }
                | Self::StickSlip { .. }
                | Self::Clutch { .. }
                | Self::Hunting { .. }
                | Self::Backlash { .. }
                | Self::LoadSurges { .. }
                | Self::DecodeError { .. }
                | Self::UnitMismatch { .. }
        )
    }

    /// Its name in a recipe, and the check that should find it.
    const fn names(&self) -> (&'static str, &'static str) {
        match self {
            Self::DroppedFrames { .. } => ("dropped-frames", "dropped-frames"),
            Self::LongGap { .. } => ("long-gap", "dropped-frames"),
            Self::RepeatedFrames { .. } => ("repeated-frames", "repeated-frames"),
            Self::Jitter { .. } => ("jitter", "timestamp-jitter"),
            Self::SlowLoop { .. } => ("slow-loop", "frame-rate"),
            Self::ClockBackward { .. } => ("clock-backward", "non-monotonic-time"),
            Self::SyntheticStamps => ("synthetic-stamps", "clock-source"),
            Self::CoarseStamps { .. } => ("coarse-stamps", "clock-source"),
            Self::MissingValues { .. } => ("missing-values", "missing-values"),
            Self::LimitDwell { .. } => ("limit-dwell", "limit-dwell"),
            Self::DeadJoint => ("dead-joint", "dead-joint"),
            Self::UnusedJoint => ("unused-joint", "constant-dimension"),
            Self::LagAll { .. } => ("lag-all", "tracking-lag"),
            Self::LagJoint { .. } => ("lag-joint", "tracking-lag"),
            Self::TrackingError { .. } => ("tracking-error", "tracking-error"),
            Self::Outlier { .. } => ("outlier", "outlier-episode"),
            Self::StaleReadings { .. } => ("stale-readings", "stale-readings"),
            Self::FrozenFollower { .. } => ("frozen-follower", "frozen-follower"),
            Self::FrozenLeader { .. } => ("frozen-leader", "frozen-leader"),
            Self::Spikes { .. } => ("spikes", "spikes"),
            Self::EncoderWrap => ("encoder-wrap", "encoder-wrap"),
            Self::NeutralOffset { .. } => ("neutral-offset", "neutral-offset"),
            Self::GainMismatch { .. } => ("gain-mismatch", "gain-mismatch"),
            Self::SwappedJoints { .. } => ("swapped-joints", "joint-swap"),
            Self::SignFlip => ("sign-flip", "sign-flip"),
            Self::TrackingLoss { .. } => ("tracking-loss", "tracking-loss"),
            Self::ExternalDisturbance { .. } => ("external-disturbance", "external-disturbance"),
            Self::IdleHead { .. } => ("idle-head", "idle-time"),
            Self::IdleTail { .. } => ("idle-tail", "idle-time"),
            Self::CutShort => ("cut-short", "cut-short"),
            Self::NoGrasp => ("no-grasp", "missing-grasp"),
            Self::Overreach { .. } => ("overreach", "leader-overreach"),
            Self::FastHand { .. } => ("fast-hand", "overspeed"),
            Self::Searching { .. } => ("searching", "path-efficiency"),
            Self::StickSlip { .. } => ("stick-slip", "leader-stick-slip"),
            Self::Clutch { .. } => ("clutch", "action-steps"),
            Self::Aborted { .. } => ("aborted", "duration"),
            Self::Hunting { .. } => ("hunting", "limit-cycle"),
            Self::Backlash { .. } => ("backlash", "backlash"),
            Self::LoadSurges { .. } => ("load-surges", "tracking-error"),
            Self::LagDrift { .. } => ("lag-drift", "lag-variation"),
            Self::CoarseQuantisation { .. } => ("coarse-quantisation", "coarse-quantisation"),
            Self::DecodeError { .. } => ("decode-error", "decode-error"),
            Self::SwappedArms => ("swapped-arms", "arm-swap"),
            Self::UnitMismatch { .. } => ("unit-mismatch", "unit-mismatch"),
            Self::ActionIsState => ("action-is-state", "action-kind"),
            Self::ActionIsNextState => ("action-is-next-state", "action-kind"),
            Self::DuplicateEpisode { .. } => ("duplicate-episode", "duplicate-episode"),
        }
    }
}
