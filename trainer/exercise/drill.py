"""What a drill is: a move, a form of question, amounts, and teaching."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.listening.threshold import Scale

# Thresholds are considered so far beyond the amounts that can be asked, or guessing would look like an answer.
BEYOND = 3.0
REACHES = ("low", "top")
"""What a listening set-up may be unable to play: the lowest bass, the highest top."""


@dataclass(frozen=True)
class Amount:
    """Describe how much of a move is made; an amount grows with audibility.

    Parameters
    ----------
    unit : str
        As shown.
    low, high : float
        Bounds of what may be asked.
    start : float
        Where a first run begins.
    demonstration : float
        Large and plain, for the labelled example.
    usual : float
        What the trade commonly uses (common practice, no source).
    typical : float
        Where an unknown listener's threshold probably lies.
    usual_source, typical_source : str
        Where these two come from.
    """

    unit: str
    low: float
    high: float
    start: float
    demonstration: float
    usual: float
    typical: float
    usual_source: str = ""
    typical_source: str = ""


@dataclass(frozen=True)
class Teaching:
    """Hold what a good teacher says of a move; all of it is common practice unless marked."""

    does: str
    listen: str
    small: str
    large: str
    taken_for: str
    helps: str
    mistake: str
    attempt: str


@dataclass(frozen=True)
class Choice:
    """One of several changes that are to be told apart.

    Parameters
    ----------
    answer : str
        The answer's word: lower case, digits, underscores.
    words : str
        What was done, for a sentence that begins with "It was".
    move : str
        The move.
    settings : dict of str to float
        Its fixed settings.
    share : float
        The drill's amount is multiplied by this: -1 for the other direction.
    """

    answer: str
    words: str
    move: str
    settings: dict[str, float]
    share: float = 1.0


@dataclass(frozen=True)
class Drill:
    """Describe one drill, as read from YAML.

    ``signed`` puts a plus sign to its amounts. The last fields are for some forms only: ``choices`` for naming,
    ``rungs`` for orders, with ``rung_unit`` where it is another one than the amounts', ``anchor`` for estimates.
    ``reach`` names what a set-up must play for it, or nothing.
    """

    drill: str
    title: str
    subtitle: str
    subject: str
    form: str
    move: str
    skill: str
    settings: dict[str, float]
    question: str
    short_question: str
    processed_words: str
    amount: Amount
    trials: int
    teaching: Teaching
    signed: bool = False
    choices: tuple[Choice, ...] = ()
    rungs: tuple[float, ...] = ()
    rung_unit: str = ""
    anchor: float = 0.0
    reach: str = ""

    @property
    def moves(self) -> tuple[tuple[str, dict[str, float]], ...]:
        """The moves that are made, each with its fixed settings, without repeats; the choices' where there are any."""
        pairs = [(choice.move, choice.settings) for choice in self.choices] or [(self.move, self.settings)]
        return tuple(pair for number, pair in enumerate(pairs) if pair not in pairs[:number])

    @property
    def scale(self) -> Scale:
        """The skill's thresholds that are considered, and the amounts that may be asked."""
        amount = self.amount
        return Scale(
            low=amount.low / BEYOND,
            high=amount.high * BEYOND,
            prior_median=amount.typical,
            amount_low=amount.low,
            amount_high=amount.high,
        )
