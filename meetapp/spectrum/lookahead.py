"""Whether tokens still to come can serve enough pilots, by spacing alone: what a search asks before it goes on.

Products are left out of it, so what is ruled out here is ruled out for good. Carrier by carrier upwards, only those are
tried that no lower one makes up for: a lower token that every group can use which can use a higher one may take its
place, since that only leaves more room above. What has been tried in vain for some users is not tried again from
further up, where there is even less.

A question may take up to so many steps. One that takes more is answered with "it may be", which rules nothing out.
"""

from meetapp.spectrum.crowd import Crowd
from meetapp.spectrum.masks import bits
from meetapp.spectrum.space import Tried

STEPS_FOR_A_QUESTION = 300

Users = tuple[int, ...]
"""For each token the groups that can use it, as a mask; ascending."""


class _Spent(Exception):
    """The question takes too long."""


class Lookahead:
    """What tokens of a pool can serve at some spacing (MHz between centres); offsets from the lowest frequency.

    >>> from meetapp.spectrum.crowd import crowd_of
    >>> ahead = Lookahead(Tried(), crowd_of([0b0010, 0b1000], heats=1), pool=0b1010, spacing=3)
    >>> ahead.may_serve(chosen=0, further=0b1010, left=2, served=2), ahead.most(count=2)
    (False, 1)
    """

    def __init__(self, tried: Tried, crowd: Crowd, pool: int, spacing: int) -> None:
        self._tried = tried
        self._crowd = crowd
        self._pool = pool
        self._spacing = max(1, spacing)
        self._users = {offset: crowd.users(1 << offset) for offset in bits(pool)}
        self._worth_trying: dict[int, tuple[tuple[int, int], ...]] = {}
        self._in_vain_from: dict[tuple[Users, int, int], int] = {}
        self._enough_from: dict[tuple[Users, int, int], int] = {}
        self._steps_left = 0

    def most(self, count: int) -> int:
        """How many pilots so many tokens serve at most; an upper bound where that takes too long to find out."""
        most, too_many = 0, self._crowd.most_served(0, self._pool, count) + 1
        while too_many - most > 1:
            served = (most + too_many) // 2
            if self.may_serve(0, self._pool, count, served):
                most = served
            else:
                too_many = served
        return most

    def may_serve(self, chosen: int, further: int, left: int, served: int) -> bool:
        """Whether the chosen tokens and up to `left` more may serve so many; the next one is one of the further ones.

        Tokens are masks of offsets, the further ones above the chosen ones. False proves that they can't.
        """
        users = tuple(sorted(self._users[offset] for offset in bits(chosen)))
        self._steps_left = STEPS_FOR_A_QUESTION
        start = (further & -further).bit_length() - 1 if further else self._pool.bit_length()
        try:
            return self._can_serve(users, start, left, served)
        except _Spent:
            return True

    def _can_serve(self, users: Users, start: int, left: int, served: int) -> bool:
        if self._crowd.served_by(users) >= served:
            return True
        options = self._options(start) if left else ()
        key = users, left, served
        if not options or start >= self._in_vain_from.get(key, start + 1):
            return False
        if start <= self._enough_from.get(key, -1):
            return True
        self._spend()
        union = 0
        for _, own in options:
            union |= own
        if self._crowd.served_by(users, union, left) >= served:
            for _, offset, grown in sorted(self._grown(users, options)):
                if self._can_serve(grown, offset + self._spacing, left - 1, served):
                    self._enough_from[key] = start
                    return True
        self._in_vain_from[key] = start
        return False

    def _grown(self, users: Users, options: tuple[tuple[int, int], ...]) -> list[tuple[int, int, Users]]:
        """The users with each option: those that serve most first, then the lower offset."""
        with_each = [(offset, tuple(sorted((*users, own)))) for offset, own in options]
        return [(-self._crowd.served_by(grown), offset, grown) for offset, grown in with_each]

    def _options(self, start: int) -> tuple[tuple[int, int], ...]:
        """The tokens from `start` on that no lower one makes up for, with the groups that can use them."""
        if start not in self._worth_trying:
            options: list[tuple[int, int]] = []
            for offset in bits(self._pool >> start << start):
                own = self._users[offset]
                if not any(own | lower == lower for _, lower in options) and own:
                    options.append((offset, own))
            self._worth_trying[start] = tuple(options)
        return self._worth_trying[start]

    def _spend(self) -> None:
        self._tried.nodes += 1
        self._steps_left -= 1
        if self._steps_left < 0:
            raise _Spent
