//! One joint of the follower: bus, servo, gears, stops.

use super::disturbance::Disturbance;

/// Length of the simulation's own step, seconds.
const STEP_S: f64 = 0.002;

/// What one joint is made of. Angles in radians.
#[derive(Debug, Clone)]
pub(super) struct Drive {
    /// From the leader's reading to the command's arrival.
    pub dead_time_s: f64,
    /// First-order time constant.
    pub time_constant_s: f64,
    /// Fastest turn.
    pub speed_limit: f64,
    /// Largest acceleration.
    pub acceleration_limit: Option<f64>,
    /// Backlash, from stop to stop.
    pub backlash: f64,
    /// Mechanical stops.
    pub stops: (f64, f64),
    /// Torque is off from one moment to another.
    pub off_s: Option<(f64, f64)>,
    /// A plug holds the jaws open from one moment to another, at this angle.
    pub contact: Option<(f64, f64, f64)>,
    /// A push by somebody: from, to, how far.
    pub push: Option<(f64, f64, f64)>,
    /// The bus slows down: by how much dead time in the end, and when that is.
    pub slowing_s: Option<(f64, f64)>,
    /// What else moves the joint.
    pub disturbance: Disturbance,
}

impl Drive {
    /// Where the joint is at each cycle, given the command sent in each cycle.
    pub fn follow(&self, moments_s: &[f64], command: &[f64]) -> Vec<f64> {
        let Some(&first) = command.first() else { return Vec::new() };
        let (lower, upper) = self.stops;
        let half = self.backlash / 2.0;
        let within =
            |span: Option<(f64, f64)>, now: f64| span.is_some_and(|(a, b)| now >= a && now < b);
        let rest = first.clamp(lower, upper);
        let mut state = State { motor: rest, output: rest, speed: 0.0 };
        let mut target = first;
        let mut next = 1;
        let mut measured = Vec::with_capacity(moments_s.len());
        measured.push(rest);
        for pair in moments_s.windows(2) {
            let steps = ((pair[1] - pair[0]) / STEP_S).ceil().max(1.0);
            let step_s = (pair[1] - pair[0]) / steps;
            let approach = -(-step_s / self.time_constant_s).exp_m1();
            for step in 0..steps as usize {
                let now = pair[0] + (step as f64 + 0.5) * step_s;
                while next < moments_s.len()
                    && moments_s[next] + self.dead_time_at(moments_s[next]) <= now
                {
                    target = command[next];
                    next += 1;
                }
                if within(self.off_s, now) {
                    state.speed = 0.0;
                    continue;
                }
                state.turn(self.pull(target - state.motor, approach, step_s, state.speed), step_s);
                // The stops are the arm's own, behind the backlash.
                state.motor = state.motor.clamp(lower - half, upper + half);
                if let Some((from, to, angle)) = self.contact
                    && within(Some((from, to)), now)
                {
                    state.motor = state.motor.max(angle - half);
                }
                state.output = state.output.clamp(state.motor - half, state.motor + half);
                if let Some((from, to, angle)) = self.contact
                    && within(Some((from, to)), now)
                {
                    state.output = state.output.max(angle);
                }
                state.output = state.output.clamp(lower, upper);
            }
            measured.push(state.output + self.pushed(pair[1]) + self.disturbance.at(pair[1]));
        }
        measured
    }

    /// What slow motion is late by, as the drive itself shows it: it follows a ramp, cycle by cycle,
    /// with neither backlash nor stops. Dead time, time constant and half a cycle add up to nearly the
    /// same, but for what a limit to the acceleration costs, and for the moment within the cycle at
    /// which the joint is read.
    pub fn trail_s(&self, period_s: f64) -> f64 {
        const SPEED: f64 = 0.5;
        let free = Self {
            speed_limit: self.speed_limit,
            acceleration_limit: self.acceleration_limit,
            backlash: 0.0,
            stops: (f64::MIN, f64::MAX),
            off_s: None,
            contact: None,
            push: None,
            slowing_s: None,
            disturbance: Disturbance::default(),
            ..*self
        };
        // Ten time constants, and three cycles to take the mean of.
        let settled_s = self.dead_time_s + 10.0 * self.time_constant_s;
        let cycles = (settled_s / period_s).ceil() as usize + 3;
        let moments_s: Vec<f64> = (0..=cycles).map(|cycle| cycle as f64 * period_s).collect();
        let ramp: Vec<f64> = moments_s.iter().map(|t| SPEED * t).collect();
        let measured = free.follow(&moments_s, &ramp);
        let late = ramp.iter().zip(&measured).skip(cycles - 2).map(|(a, s)| (a - s) / SPEED);
        late.sum::<f64>() / 3.0
    }

    fn dead_time_at(&self, moment_s: f64) -> f64 {
        let slower = self.slowing_s.map_or(0.0, |(most, end_s)| most * (moment_s / end_s).min(1.0));
        self.dead_time_s + slower
    }

    /// Speed at which the motor turns, given the distance that is left.
    fn pull(&self, distance: f64, approach: f64, step_s: f64, before: f64) -> f64 {
        let mut speed = (distance * approach / step_s).clamp(-self.speed_limit, self.speed_limit);
        if let Some(limit) = self.acceleration_limit {
            speed = speed.clamp(before - limit * step_s, before + limit * step_s);
        }
        speed
    }

    /// Half a sine: out and back.
    fn pushed(&self, now: f64) -> f64 {
        match self.push {
            Some((from, to, size)) if now > from && now < to => {
                size * (std::f64::consts::PI * (now - from) / (to - from)).sin()
            }
            _ => 0.0,
        }
    }
}

struct State {
    motor: f64,
    output: f64,
    speed: f64,
}

impl State {
    fn turn(&mut self, speed: f64, step_s: f64) {
        self.speed = speed;
        self.motor += speed * step_s;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drive() -> Drive {
        Drive {
            dead_time_s: 0.02,
            time_constant_s: 0.06,
            speed_limit: 10.0,
            acceleration_limit: None,
            backlash: 0.0,
            stops: (-2.0, 2.0),
            off_s: None,
            contact: None,
            push: None,
            slowing_s: None,
            disturbance: Disturbance::default(),
        }
    }

    fn clock(frames: usize) -> Vec<f64> {
        (0..frames).map(|i| i as f64 * 0.01).collect()
    }

    /// A ramp through a first-order servo trails by dead time, half a cycle of hold, and the time
    /// constant: textbook step response, no estimator involved.
    #[test]
    fn a_ramp_trails_by_the_sum_of_the_delays() {
        let moments = clock(200);
        let ramp: Vec<f64> = moments.iter().map(|t| 0.5 * t).collect();
        let measured = drive().follow(&moments, &ramp);
        // Sampled at the moment of the newest command's departure, so averaged over a cycle the
        // hold costs half of it; at the cycle's own moments it costs none or all of it.
        let late_s = (ramp[199] - measured[199]) / 0.5;
        assert!((late_s - 0.085).abs() < 0.006, "trails by {late_s} s");
    }

    #[test]
    fn it_stops_at_its_stops_and_turns_no_faster_than_its_limit() {
        let moments = clock(400);
        let jump: Vec<f64> = moments.iter().map(|t| if *t < 0.5 { 0.0 } else { 5.0 }).collect();
        let slow = Drive { speed_limit: 1.5, ..drive() };
        let measured = slow.follow(&moments, &jump);
        let fastest = measured.windows(2).map(|w| (w[1] - w[0]) / 0.01).fold(0.0, f64::max);
        assert!((fastest - 1.5).abs() < 1e-9 && (measured[399] - 2.0).abs() < 1e-12);
    }

    #[test]
    fn play_swallows_motion_smaller_than_itself() {
        let moments = clock(300);
        let small: Vec<f64> = moments.iter().map(|t| 0.004 * (7.0 * t).sin()).collect();
        let loose = Drive { backlash: 0.01, ..drive() };
        assert!(loose.follow(&moments, &small).iter().all(|s| s.abs() < 1e-12));
    }

    #[test]
    fn a_plug_holds_the_jaws_open() {
        let moments = clock(300);
        let close: Vec<f64> = moments.iter().map(|t| (0.7 - t).max(0.0)).collect();
        let jaw = Drive { contact: Some((0.0, 9.0, 0.3)), ..drive() };
        let min = jaw.follow(&moments, &close).into_iter().fold(1.0, f64::min);
        assert!((min - 0.3).abs() < 1e-12);
    }
}
