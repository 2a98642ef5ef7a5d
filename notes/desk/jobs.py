"""Long work in the background, one at a time, told as it goes on."""

import asyncio
import json
import logging
import traceback
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import count

from notes.errors import TapesideError

Tell = Callable[[float, str], None]


@dataclass(slots=True)
class Job:
    """Work in hand: how far it is (0 to 1), what is told of it, and where it led (an address) or why it failed."""

    title: str
    share: float = 0.0
    told: str = "Waiting for other work"
    led_to: str | None = None
    failed: str | None = None

    @property
    def over(self) -> bool:
        """Whether nothing more will come."""
        return self.led_to is not None or self.failed is not None


class Jobs:
    """The desk's jobs since it was started."""

    def __init__(self) -> None:
        self._jobs: dict[int, Job] = {}
        self._numbers = count(1)
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="job")

    def start(self, title: str, work: Callable[[Tell], str]) -> int:
        """Queue work; it is given a function to tell its progress, and returns the address of what it made."""
        number = next(self._numbers)
        job = self._jobs[number] = Job(title)

        def tell(share: float, told: str) -> None:
            job.share, job.told = share, told

        def run() -> None:
            try:
                job.led_to = work(tell)
            except TapesideError as error:
                job.failed = str(error)
            except Exception as error:
                job.failed = "This could not be finished; what was recorded is kept. The terminal tells more."
                where = "".join(traceback.format_tb(error.__traceback__))
                logging.getLogger(__name__).error("%s: %s\n%s", title, type(error).__name__, where)

        self._worker.submit(run)
        return number

    def start_once(self, title: str, work: Callable[[Tell], str]) -> int:
        """The number of the job of that title that is under way, or of a new one."""
        under_way = [number for number, job in self._jobs.items() if job.title == title and not job.over]
        return under_way[0] if under_way else self.start(title, work)

    def get(self, number: int) -> Job | None:
        """A job by its number."""
        return self._jobs.get(number)

    async def follow(self, number: int) -> AsyncIterator[str]:
        """Server-sent events of one job, a JSON object each, until it is over."""
        job = self._jobs[number]
        before = ""
        while True:
            over = job.over
            now = json.dumps({"share": job.share, "told": job.told, "led_to": job.led_to, "failed": job.failed})
            if now != before:
                yield f"data: {now}\n\n"
                before = now
            if over:
                return
            await asyncio.sleep(0.25)

    def stop(self) -> None:
        """Let the work in hand go; nothing further is begun."""
        self._worker.shutdown(wait=False, cancel_futures=True)
