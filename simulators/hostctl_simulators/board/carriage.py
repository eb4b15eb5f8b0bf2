"""Where the firmware believes the head is, what it queues, and the log of moves carried out."""

from collections.abc import Callable

from hostctl_simulators.agenda import Agenda, Entry
from hostctl_simulators.board.planner import DoneMove, Move, Planner
from hostctl_simulators.board.received_line import Command
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.world import World

FEED_AT_START_MM_S = 25.0


class Carriage:
    """The axes as the firmware drives them.

    The firmware counts from its own zero; `origin` says where that lies in the frame. After a
    reset it counts from wherever the head happens to be, until homing finds the true zero.
    """

    def __init__(self, agenda: Agenda, world: World, idle_off_s: float) -> None:
        self.done: list[DoneMove] = []
        self.boot = 0
        self.on_begin: Callable[[int, float], None] = lambda number, duration_s: None
        self._agenda = agenda
        self._world = world
        self._begun = 0
        self._idle_off_at_start_s = idle_off_s
        self._idle: Entry | None = None
        self.planner = Planner(agenda, world.kind.acceleration_mm_s2, self._ended)
        self.planner.on_begin = self._began
        self.forget()

    def forget(self) -> None:
        """What a reset does: the moves stop where they are, position and modes are gone."""
        self.planner.stop()
        self.origin = self._world.head
        self.position = Spot(x_mm=0.0, y_mm=0.0, z_mm=0.0)  # where the queued moves lead
        self.homed = False
        self.absolute = True
        self.mm_per_unit = 1.0  # 25.4 after G20
        self.feed_mm_s = FEED_AT_START_MM_S
        self.idle_off_s = self._idle_off_at_start_s  # motors let go after so long at rest; 0: never

    def release(self) -> None:
        """Let the motors go: the place of the head is no longer sure."""
        self.homed = False

    def go(self, to: Spot, speed_mm_s: float, command: Command) -> None:
        """Queue a straight move on behalf of `command`; there must be room."""
        move = Move(
            start=self.position,
            end=to,
            speed_mm_s=speed_mm_s,
            command=command.text,
            number=command.number,
        )
        self.position = to
        self.planner.add(move)

    def mm_of(self, asked: float | None) -> float | None:
        """A length of a command, in the unit now set, in mm."""
        return None if asked is None else asked * self.mm_per_unit

    def stop(self) -> None:
        """Stop at once and forget the moves queued; the position is where it stopped."""
        stopped = self.planner.stop()
        if stopped is not None:
            self.position = stopped

    def call_it(self, here: Spot) -> None:
        """The head, at rest, is at `here` from now on."""
        head = self._world.head
        self.origin = Spot(
            x_mm=head.x_mm - here.x_mm, y_mm=head.y_mm - here.y_mm, z_mm=head.z_mm - here.z_mm
        )
        self.position = here

    def within_travel(self, spot: Spot) -> Spot:
        """The spot of the travel that is nearest to `spot`."""
        kind = self._world.kind
        return Spot(
            x_mm=min(max(spot.x_mm, kind.from_x_mm), kind.to_x_mm),
            y_mm=min(max(spot.y_mm, kind.from_y_mm), kind.to_y_mm),
            z_mm=min(max(spot.z_mm, kind.lowest_z_mm), kind.size_z_mm),
        )

    def speed_mm_s(self, to: Spot, asked_mm_s: float) -> float:
        """The speed of a move to `to`: what was asked, or the most that each axis can."""
        kind = self._world.kind
        sideways_mm = self.position.sideways_mm(to)
        rise_mm = abs(to.z_mm - self.position.z_mm)
        length_mm = (sideways_mm**2 + rise_mm**2) ** 0.5
        speed_mm_s = asked_mm_s
        if sideways_mm > 0:
            speed_mm_s = min(speed_mm_s, kind.fastest_xy_mm_s * length_mm / sideways_mm)
        if rise_mm > 0:
            speed_mm_s = min(speed_mm_s, kind.fastest_z_mm_s * length_mm / rise_mm)
        return speed_mm_s

    def steps(self) -> tuple[int, int, int]:
        """What the motors have counted."""
        x, y, z = self._world.kind.steps_per_mm
        at = self.position
        return round(at.x_mm * x), round(at.y_mm * y), round(at.z_mm * z)

    def _began(self, duration_s: float) -> None:
        if self._idle is not None:
            self._idle.cancel()
        self._begun += 1
        self.on_begin(self._begun, duration_s)

    def _ended(self, move: Move, reached: Spot, whole: bool) -> None:
        origin = self.origin
        self._world.move_head(
            Spot(
                x_mm=reached.x_mm + origin.x_mm,
                y_mm=reached.y_mm + origin.y_mm,
                z_mm=reached.z_mm + origin.z_mm,
            )
        )
        now_s = self._agenda.now_s
        self.done.append(
            DoneMove(move=move, reached=reached, whole=whole, boot=self.boot, ended_s=now_s)
        )
        if self.idle_off_s > 0:
            self._idle = self._agenda.after(self.idle_off_s, self.release, background=True)
