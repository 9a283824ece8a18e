"""The interview itself: asks, listens, keeps, and writes the job file at the end."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path
from typing import Protocol

from boostcarb.description.job import Job
from boostcarb.description.saving import save_text
from boostcarb.description.source import Document, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.interview.answers import Draft
from boostcarb.interview.explaining import explained
from boostcarb.interview.question import CAR, Answers, Question, misplaced, unanswered
from boostcarb.interview.questions import Questions, left
from boostcarb.interview.replies import Command, understood, words_of_commands, wrong
from boostcarb.interview.strip_down import REST
from boostcarb.interview.writing import check, job_text

STANDARD_INPUT = Path("standard input")
CAR_TITLE, REST_TITLE = "the car", "the rest"
HOW_TO = (
    ("a number", "or the word beside it, or its beginning; a value with its unit"),
    ("Enter", "don't know"),
    ("?", "more about the question"),
    ("back", "the question before"),
    ("skip", "don't know, for the rest of this stage"),
    ("built", "as built, for the rest of this stage"),
    ("done", "write the file now"),
    ("leave", "stop here, go on another day"),
)
"""What can be typed, and what it means."""


class Desk(Protocol):
    """Where questions are shown and answers come from."""

    patient: bool
    """Whether somebody is there who can be asked again."""

    def say(self, text: str = "", *, first: str = "", rest: str | None = None) -> None:
        """Show a paragraph, wrapped, with a first and a hanging indent."""

    def answer(self, prompt: str) -> str:
        """One line. Raises EOFError when there are no more."""

    def lines_read(self) -> int:
        """How many lines have come in."""


class Ending(Enum):
    """How an interview ended."""

    written = "written"
    left = "left"


@dataclass
class Interview:
    """One run of questions for one job file."""

    questions: Questions
    draft: Draft
    desk: Desk
    again: str | None = None
    """A question that is asked once more, with its answer still there."""
    shown: str | None = field(default=None)
    """The stage whose heading has been shown."""

    def run(self) -> Ending:
        """Ask until everything is answered, or until the person has had enough.

        Raises:
            BadDescription: a wrong answer where nobody can be asked again; the file cannot be written.
        """
        try:
            return self._run()
        except (EOFError, KeyboardInterrupt):
            return Ending.left

    def _run(self) -> Ending:
        while True:
            asked = self.questions.asked(self.draft.answers)
            question = self._next(asked)
            if question is None:
                self._write(asked)
                return Ending.written
            self._heading(question, asked)
            self._show(question)
            ending = self._listen(question, asked)
            if ending is not None:
                return ending

    def _next(self, asked: list[Question]) -> Question | None:
        again = next((question for question in asked if question.name == self.again), None)
        if again is not None:
            return again
        self.again = None
        return next(iter(unanswered(asked, self.draft.answers)), None)

    # --- showing ------------------------------------------------------------------------------------------

    def _heading(self, question: Question, asked: list[Question]) -> None:
        if question.stage == self.shown:
            return
        self.shown = question.stage
        open_here = len(left(asked, self.draft.answers, question.stage))
        title = self.stage_titles().get(question.stage, question.stage)
        count = f": {open_here} question{'' if open_here == 1 else 's'}" if open_here else ""
        self.desk.say()
        self.desk.say(f"{title.upper()}{count}")

    def stage_titles(self) -> dict[str, str]:
        """Stages in words, the car first."""
        subject = self.questions.subject(self.draft.answers)
        stages = subject.bench.network.stages if subject is not None else {}
        return {CAR: CAR_TITLE, **{name: stage.title for name, stage in stages.items()}, REST: REST_TITLE}

    def _show(self, question: Question) -> None:
        desk = self.desk
        desk.say()
        on = f" ({question.casting})" if question.casting else ""
        desk.say(f"{question.title}{on}", rest="  ")
        if question.look:
            desk.say(question.look, first="  ")
        widest = max((len(choice.word) for choice in question.offered), default=0)
        for number, choice in enumerate(question.offered, 1):
            built = " (as built)" if choice.as_built else ""
            first = f"  {number}  {choice.word}"
            said = f"{choice.title}{built}".strip()
            if said:
                desk.say(said, first=first.ljust(widest + 7), rest=" " * (widest + 7))
            else:
                desk.say(choice.word, first=f"  {number}  ")
        hint = self._hint(question)
        if hint:
            desk.say(hint, first="  ")

    def _hint(self, question: Question) -> str:
        """An example, and what Enter does."""
        hints = [f"for example {question.example}"] if question.example and not question.choices else []
        hints += [f"here {word} is an answer" for word in words_of_commands(question)]
        if self.again == question.name:
            hints.append(f"was {self.draft.answers.get(question.name) or 'do not know'}, Enter keeps it")
        elif question.otherwise:
            hints.append(f"Enter: {question.otherwise}")
        return "; ".join(hints)

    # --- listening ----------------------------------------------------------------------------------------

    def _listen(self, question: Question, asked: list[Question]) -> Ending | None:
        """Take lines until one of them settles the question, or leads elsewhere."""
        while True:
            line = self.desk.answer("> ")
            if self.again == question.name and not line.strip():
                self._go_on(question, asked)
                return None
            try:
                reply = understood(line, question)
                if reply is Command.explain:
                    self._explain(question)
                    continue
                if isinstance(reply, Command):
                    return self._obey(reply, question, asked)
                self._take(question, reply.said)
            except BadDescription as error:
                self._refuse(question, error)
                continue
            self._go_on(question, asked)
            return None

    def _explain(self, question: Question) -> None:
        for text in explained(question, self.questions, self.draft.answers):
            self.desk.say(text, first="  ", rest="    ")

    def _take(self, question: Question, said: str | None) -> None:
        """Keep an answer that holds together with all others. Raises BadDescription."""
        wanted = {**self.draft.answers, question.name: said}
        self._must_hold_together(wanted, question)
        stale = misplaced(self.questions.asked(wanted), wanted)
        for name in stale:
            del self.draft.answers[name]
            self.desk.say(f"Asked again, as its answer does not go with this: {name}", first="  ", rest="    ")
        self.draft.record(question.name, said)

    def _must_hold_together(self, answers: Answers, question: Question) -> None:
        problems = self.questions.wrong(answers)
        if problems:
            raise BadDescription([Problem(each.message, field=each.field or question.name) for each in problems])

    def _refuse(self, question: Question, error: BadDescription) -> None:
        """Explain what is wrong; where nobody can be asked again, that ends it."""
        if not self.desk.patient:
            line = self.desk.lines_read()
            told = [Problem(_told(each, question), STANDARD_INPUT, line, question.name) for each in error.problems]
            raise BadDescription(told) from error
        for each in error.problems:
            self.desk.say(_told(each, question), first="  ! ", rest="    ")

    def _go_on(self, question: Question, asked: list[Question]) -> None:
        """After a question that was asked once more, the next one that has an answer is asked once more, too."""
        if self.again != question.name:
            return
        names = [each.name for each in asked]
        after = names[names.index(question.name) + 1 :]
        self.again = after[0] if after and after[0] in self.draft.answers else None

    def _obey(self, command: Command, question: Question, asked: list[Question]) -> Ending | None:
        """Raises BadDescription where a command cannot be followed here."""
        if command is Command.leave:
            return Ending.left
        if command is Command.done:
            answers = self.draft.answers
            missing = next((each for each in asked if each.needed and answers.get(each.name) is None), None)
            if missing is not None:
                raise wrong(question, f"too early; the file still needs: {missing.title}")
            self._write(asked)
            return Ending.written
        if command is Command.back:
            self._step_back(question, asked)
        else:
            self._rest_of(question, built=command is Command.built)
        return None

    def _step_back(self, question: Question, asked: list[Question]) -> None:
        names = [each.name for each in asked]
        index = names.index(question.name)
        if index == 0:
            self.desk.say("This is the first question.", first="  ")
            return
        self.again = names[index - 1]

    def _rest_of(self, question: Question, *, built: bool) -> None:
        """Answer every open question of a stage with don't know, or with the form as built."""
        if built and question.stage == CAR:
            raise wrong(question, "a car is not as built; answer, or skip what is not needed")
        answers, before = dict(self.draft.answers), len(self.draft.answers)
        while here := [
            each for each in left(self.questions.asked(answers), answers, question.stage) if not each.needed
        ]:
            # What comes after a form, such as a setting, turns up only when the form is there.
            answers[here[0].name] = here[0].as_built if built else None
        self._must_hold_together(answers, question)
        self.again = None
        self.draft.answers.update(answers)
        self.draft.save()
        count = len(answers) - before
        said = f"{count} answered: {'as built' if built else 'do not know'}." if count else "Nothing is open here."
        self.desk.say(said, first="  ")

    # --- writing ------------------------------------------------------------------------------------------

    def _write(self, asked: list[Question]) -> None:
        answers, questions = self.draft.answers, self.questions
        data = questions.data(answers, whole=True)
        name = str(data["carburetor"])
        text = job_text(
            asked,
            answers,
            family=(name, questions.families()[name]),
            stages=self.stage_titles(),
            untold=questions.untold(answers),
        )
        check(text, questions.file, validate(Job, Document(questions.file, data, {})))
        save_text(questions.file, text)
        self.draft.remove()


def _told(problem: Problem, question: Question) -> str:
    """A problem with an answer; where it shows in another field, that is named."""
    field = problem.field or question.name
    return problem.message if question.name.startswith(field) else f"{field}: {problem.message}"
