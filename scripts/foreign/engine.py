"""One arm in the physics engine: servos as torques, gravity, friction, contact, and what breaks them.

The servo of a joint is a second-order law on the arm's own mass matrix, with gravity compensation of
the arm as it was set up. A motor without current, or at its limit, is braked by its gears; it
sinks under a third of its load. What differs from that set-up (a payload, a tilted base, a torque limit, a
motor without current, friction, an obstacle) acts through the engine alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pybullet as bullet
import pybullet_data

STEP_S = 1 / 480
# Brake of the gears on a joint that is not driven, 1/s, and the share of its load that they do not hold.
GEARS, SINKS = 25.0, 0.3

# Description, end link, centre of the work and half width of it in rad.
ARMS = {
    "seven-joints": ("kuka_iiwa/model.urdf", 6, [0.0, 0.6, 0.0, -1.2, 0.0, 0.8, 0.0], [0.9, 0.4, 0.5, 0.5, 0.7, 0.5, 0.9]),
    "six-joints": ("xarm/xarm6_robot.urdf", 6, [0.0, -0.3, -0.9, 0.0, 1.0, 0.0], [0.9, 0.4, 0.45, 0.7, 0.5, 0.9]),
    "seven-and-jaw": ("franka_panda/panda.urdf", 8, [0.0, 0.1, 0.0, -1.9, 0.0, 1.9, 0.6], [0.8, 0.4, 0.5, 0.5, 0.7, 0.5, 0.8]),
}


@dataclass
class Trouble:
    """What the engine does to an episode. Times in s; joints by number."""

    limit: np.ndarray | None = None  # torque that a joint can give, N m
    off: tuple[int, float, float] | None = None
    friction: np.ndarray | None = None  # N m
    late_s: float = 0.0
    obstacle_at: np.ndarray | None = None
    push: tuple[float, float, np.ndarray] | None = None
    natural: np.ndarray | None = None


@dataclass
class Physical:
    """A loaded arm."""

    name: str
    natural: float
    damping: float
    ahead: float  # share of the command's speed that the servo takes into account
    payload_kg: float = 0.0
    tilt_rad: float = 0.0
    client: int = field(init=False)
    body: int = field(init=False)
    joints: list[int] = field(init=False)

    def __post_init__(self) -> None:
        """Loads the description that the engine ships."""
        url, self.end, centre, half = ARMS[self.name]
        self.centre, self.half = np.array(centre), np.array(half)
        self.client = bullet.connect(bullet.DIRECT)
        self.where = {"physicsClientId": self.client}
        path = str(Path(pybullet_data.getDataPath()) / url)
        self.body = bullet.loadURDF(path, useFixedBase=True, **self.where)
        bullet.setTimeStep(STEP_S, **self.where)
        count = bullet.getNumJoints(self.body, **self.where)
        info = [bullet.getJointInfo(self.body, j, **self.where) for j in range(count)]
        self.movable = [j for j in range(count) if info[j][2] != bullet.JOINT_FIXED]
        self.joints = self.movable[: len(centre)]
        for j in range(-1, count):
            bullet.changeDynamics(self.body, j, linearDamping=0, angularDamping=0, jointDamping=0, **self.where)
        # Gravity turned instead of the base: the same to the arm. The compensation does not know.
        self.gravity = 9.81 * np.array([np.sin(self.tilt_rad), 0, -np.cos(self.tilt_rad)])
        self.obstacle: int | None = None

    def close(self) -> None:
        """Ends the engine."""
        bullet.disconnect(self.client)

    def place(self, q: np.ndarray) -> None:
        """Puts the arm into a pose at rest."""
        for j, value in zip(self.joints, q):
            bullet.resetJointState(self.body, j, float(value), **self.where)

    def end_at(self, q: np.ndarray) -> np.ndarray:
        """Where the end link is in this pose, m."""
        self.place(q)
        return np.array(bullet.getLinkState(self.body, self.joints[-1], computeForwardKinematics=1, **self.where)[4])

    def run(self, command: np.ndarray, trouble: Trouble) -> tuple[np.ndarray, np.ndarray]:
        """(angles, torques) of the joints at each step for this command, (n, joints)."""
        n, dof = command.shape
        late = int(round(trouble.late_s / STEP_S))
        command = np.vstack([np.repeat(command[:1], late, 0), command[: n - late]]) if late else command
        speed = np.gradient(command, STEP_S, axis=0) * self.ahead
        wn = np.full(dof, self.natural) if trouble.natural is None else trouble.natural
        extra = len(self.movable) - dof
        bullet.setGravity(0, 0, -9.81, **self.where)
        self.place(command[0])
        self.clear(trouble.obstacle_at)
        bullet.setJointMotorControlArray(self.body, self.joints, bullet.VELOCITY_CONTROL, forces=list(np.zeros(dof) if trouble.friction is None else trouble.friction), **self.where)
        if extra:
            bullet.setJointMotorControlArray(self.body, self.movable[dof:], bullet.POSITION_CONTROL, targetPositions=[0.02] * extra, forces=[20.0] * extra, **self.where)
        angles, torques, zeros = np.empty((n, dof)), np.empty((n, dof)), [0.0] * extra
        for i in range(n):
            states = bullet.getJointStates(self.body, self.joints, **self.where)
            q = np.array([s[0] for s in states])
            v = np.array([s[1] for s in states])
            angles[i] = q
            wanted = wn * wn * (command[i] - q) + 2 * self.damping * wn * (speed[i] - v)
            torque = self.inverse(q, v, wanted, zeros)[:dof]
            idle = np.zeros(dof, bool)
            if trouble.limit is not None:
                idle = np.abs(torque) > trouble.limit
            if trouble.off and trouble.off[1] <= i * STEP_S < trouble.off[2]:
                idle[trouble.off[0]] = True
            if idle.any():
                # The gears brake the joint; the other joints' servos are those of the moving arm.
                torque = self.inverse(q, v, np.where(idle, -GEARS * v, wanted), zeros)[:dof]
                load = self.inverse(q, 0 * v, 0 * v, zeros)[:dof]
                torque = torque - np.where(idle, SINKS * load, 0)
            torques[i] = torque
            bullet.setJointMotorControlArray(self.body, self.joints, bullet.TORQUE_CONTROL, forces=list(torque), **self.where)
            if trouble.push and trouble.push[0] <= i * STEP_S < trouble.push[1]:
                at = bullet.getLinkState(self.body, self.joints[-1], **self.where)[0]
                bullet.applyExternalForce(self.body, self.joints[-1], list(trouble.push[2]), at, bullet.WORLD_FRAME, **self.where)
            self.load()
            bullet.stepSimulation(**self.where)
        self.clear(None)
        return angles, torques

    def inverse(self, q, v, wanted, zeros) -> np.ndarray:
        """Torques for these accelerations of the arm as it was set up."""
        # The compensation assumes an upright base and no payload.
        bullet.setGravity(0, 0, -9.81, **self.where)
        torque = bullet.calculateInverseDynamics(self.body, [*q, *(0.02 for _ in zeros)], [*v, *zeros], [*wanted, *zeros], **self.where)
        bullet.setGravity(*self.gravity, **self.where)
        return np.array(torque)

    def load(self) -> None:
        """The payload's weight at the end link."""
        if self.payload_kg:
            at = bullet.getLinkState(self.body, self.joints[-1], **self.where)[0]
            force = [float(f) for f in self.payload_kg * self.gravity]
            bullet.applyExternalForce(self.body, self.joints[-1], force, at, bullet.WORLD_FRAME, **self.where)

    def clear(self, at: np.ndarray | None) -> None:
        """Takes the obstacle away, or puts one there: a ball of 6 cm that nothing moves."""
        if self.obstacle is not None:
            bullet.removeBody(self.obstacle, **self.where)
            self.obstacle = None
        if at is not None:
            shape = bullet.createCollisionShape(bullet.GEOM_SPHERE, radius=0.06, **self.where)
            self.obstacle = bullet.createMultiBody(0, shape, basePosition=[float(x) for x in at], **self.where)

    def inertia(self, q: np.ndarray) -> np.ndarray:
        """The mass matrix's diagonal in this pose, kg m²."""
        extra = len(self.movable) - len(q)
        matrix = np.array(bullet.calculateMassMatrix(self.body, [*q, *(0.02 for _ in range(extra))], **self.where))
        return np.diag(matrix)[: len(q)]
