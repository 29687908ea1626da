//! Sessions of every kind of action, made from a seed: targets reached by smooth moves, a servo of
//! second order behind them.

use crate::model::ActionKind;

/// Random numbers from a seed (splitmix64).
pub(super) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }

    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[(self.unit() * all.len() as f64) as usize % all.len()]
    }

    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// What all episodes of a session share.
pub(super) struct Session {
    pub kind: ActionKind,
    pub rate_hz: f64,
    pub joints: usize,
    servo_s: f64,
    late_s: f64,
    count: f64,
    speed: f64,
    unit: f64,
    chunk: usize,
    jump: f64,
    keys: bool,
}

/// Joint-major state and action.
pub(super) struct Made {
    pub state: Vec<Vec<f32>>,
    pub action: Vec<Vec<f32>>,
}

pub(super) const RATES_HZ: [f64; 8] = [5.0, 10.0, 15.0, 30.0, 50.0, 100.0, 200.0, 500.0];

impl Session {
    pub fn of(kind: ActionKind, dice: &mut Dice) -> Self {
        let rate_hz = dice.one_of(&RATES_HZ);
        // A hold or a chunk needs frames to be seen in.
        let rate_hz = if matches!(kind, ActionKind::Held { .. } | ActionKind::Chunked) {
            rate_hz.max(10.0)
        } else {
            rate_hz
        };
        Self {
            kind,
            rate_hz,
            joints: dice.one_of(&[2, 3, 6, 6, 7, 14]),
            servo_s: dice.within(0.01, 0.08),
            late_s: dice.within(0.005, 0.06),
            count: dice.one_of(&[0.0, 0.0015, 1e-4]),
            speed: dice.within(0.5, 1.6),
            unit: dice.one_of(&[1.0, 1.0, 2.0, 20.0]),
            chunk: dice.one_of(&[8, 10, 16, 25, 50]),
            jump: dice.within(0.01, 0.04),
            keys: dice.unit() < 0.4,
        }
    }

    pub fn episode(&self, dice: &mut Dice) -> Made {
        let seconds = dice.within(8.0, 16.0);
        let frames = (seconds * self.rate_hz) as usize;
        let sub = (0.004 * self.rate_hz).recip().ceil().max(1.0) as usize;
        let dt = 1.0 / (self.rate_hz * sub as f64);
        let steps = frames * sub + sub;
        let idle = self.joints > 7 && dice.unit() < 0.5;
        let shared = dice.within(0.0, 1.0);
        let mut made = Made { state: Vec::new(), action: Vec::new() };
        let mut hands = Vec::new();
        for joint in 0..self.joints {
            let still = idle && joint >= 7;
            let hand = if self.kind == ActionKind::Velocity {
                self.stick(steps, dt, still, dice)
            } else {
                self.moves(steps, dt, still, shared, dice)
            };
            hands.push(hand);
        }
        for hand in &hands {
            let (command, sent) = self.command(hand, frames, sub, dt, dice);
            let state = self.follow(&command, dt, dice);
            let seen: Vec<f32> = (0..=frames).map(|t| self.seen(state[t * sub])).collect();
            made.action.push(if self.kind == ActionKind::Next { seen[1..].to_vec() } else { sent });
            made.state.push(seen[..frames].to_vec());
        }
        if self.kind == ActionKind::Other {
            made.action = pose(&hands, frames, sub);
        }
        made
    }

    fn seen(&self, value: f64) -> f32 {
        (if self.count > 0.0 { (value / self.count).round() * self.count } else { value }) as f32
    }

    /// Smooth moves between targets, with rests.
    fn moves(&self, steps: usize, dt: f64, still: bool, shared: f64, dice: &mut Dice) -> Vec<f64> {
        let mut path = Vec::with_capacity(steps);
        let mut at = dice.within(-0.5, 0.5);
        let wander = (dice.within(0.1, 0.3), dice.within(0.0, 6.0));
        while path.len() < steps {
            let lasts = dice.within(0.5, 1.5) + 0.2 * shared;
            let to = if still { at } else { dice.within(-1.0, 1.0) };
            let moving = (lasts / self.speed / dt) as usize;
            for n in 0..moving.max(1) {
                let u = n as f64 / moving.max(1) as f64;
                path.push(at + (to - at) * u * u * u * (10.0 + u * (6.0 * u - 15.0)));
            }
            at = to;
            let rest = (dice.within(0.0, 0.6) / dt) as usize;
            path.extend(std::iter::repeat_n(at, rest));
        }
        path.truncate(steps);
        let size = if still { 0.0 } else { 0.01 };
        for (n, value) in path.iter_mut().enumerate() {
            let t = n as f64 * dt;
            *value += size * (6.3 * wander.0 * t + wander.1).sin()
                + 0.1 * size * (57.0 * t + wander.1).sin();
        }
        path
    }

    /// Velocities of a stick or of keys.
    fn stick(&self, steps: usize, dt: f64, still: bool, dice: &mut Dice) -> Vec<f64> {
        let mut path = Vec::with_capacity(steps);
        let mut at = 0.0;
        while path.len() < steps {
            let lasts = (dice.within(0.3, 1.6) / dt) as usize;
            let far = path.len() as f64 * dt;
            let to = if still || dice.unit() < 0.4 {
                0.0
            } else if self.keys {
                dice.one_of(&[-0.5, 0.5])
            } else {
                dice.within(-0.8, 0.8)
            };
            let ramp = if self.keys { 1 } else { ((0.15 / dt) as usize).max(1) };
            for n in 0..lasts.max(1) {
                let u = (n as f64 / ramp as f64).min(1.0);
                path.push(at + (to - at) * u + 0.0 * far);
            }
            at = to;
        }
        path.truncate(steps);
        path
    }

    /// What the servo is given at each step, and what is stored in each frame.
    fn command(
        &self,
        hand: &[f64],
        frames: usize,
        sub: usize,
        dt: f64,
        dice: &mut Dice,
    ) -> (Vec<f64>, Vec<f32>) {
        let at = |t: usize| hand[(t * sub).min(hand.len() - 1)];
        match self.kind {
            ActionKind::Velocity => {
                let mut position = 0.0;
                let command = (0..hand.len()).map(|n| {
                    position += at(n / sub) * dt;
                    position
                });
                let noise = if self.keys { 0.0 } else { 0.002 };
                let sent = (0..frames).map(|t| {
                    let still = at(t) == 0.0;
                    let noise = if still { 0.0 } else { noise * dice.normal() };
                    ((at(t) + noise) * self.unit) as f32
                });
                let sent = sent.collect();
                (command.collect(), sent)
            }
            ActionKind::Delta => {
                let sent = (0..frames).map(|t| (at(t + 1) - at(t)) as f32).collect();
                (hand.to_vec(), sent)
            }
            ActionKind::Held { frames: k } => {
                let k = usize::from(k);
                let held = |t: usize| at(t / k * k);
                let command = (0..hand.len()).map(|n| held(n / sub)).collect();
                (command, (0..frames).map(|t| held(t) as f32).collect())
            }
            ActionKind::Chunked => {
                let offs: Vec<f64> =
                    (0..=frames / self.chunk + 1).map(|_| dice.normal() * self.jump).collect();
                let sent = |t: usize| at(t) + offs[t / self.chunk];
                let command = (0..hand.len()).map(|n| sent(n / sub)).collect();
                (command, (0..frames).map(|t| sent(t) as f32).collect())
            }
            _ => (hand.to_vec(), (0..frames).map(|t| self.seen(at(t))).collect()),
        }
    }

    /// A critically damped servo behind a dead time.
    fn follow(&self, command: &[f64], dt: f64, dice: &mut Dice) -> Vec<f64> {
        let late = (self.late_s / dt).round() as usize;
        let offset = dice.within(-0.02, 0.02);
        let w = 1.0 / self.servo_s;
        let (mut x, mut v) = (command[0], 0.0);
        (0..command.len())
            .map(|n| {
                let to = command[n.saturating_sub(late)];
                for _ in 0..2 {
                    v += (w * w * (to - x) - 2.0 * w * v) * dt / 2.0;
                    x += v * dt / 2.0;
                }
                x + offset
            })
            .collect()
    }
}

/// A tool's place and turn, in metres and radians, from the angles.
fn pose(hands: &[Vec<f64>], frames: usize, sub: usize) -> Vec<Vec<f32>> {
    let of = |joint: usize, t: usize| hands[joint % hands.len()][t * sub];
    let many = hands.len();
    (0..many)
        .map(|axis| {
            let value = |t: usize| {
                let (a, b, c) = (of(0, t), of(1, t) + 0.6, of(2, t) - 0.9);
                let reach = 0.3 * b.sin() + 0.25 * (b + c).sin();
                match axis {
                    0 => reach * a.cos(),
                    1 => reach * a.sin(),
                    2 => 0.3 * b.cos() + 0.25 * (b + c).cos(),
                    3 => (a * b.sin() + c.cos()).atan(),
                    4 => (b + c) * a.cos() + of(4, t).sin(),
                    _ => (of(axis, t) - of(axis + 1, t)).sin() + of(3, t) * a,
                }
            };
            (0..frames).map(|t| value(t) as f32).collect()
        })
        .collect()
}
