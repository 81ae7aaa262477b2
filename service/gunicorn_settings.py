"""How gunicorn serves the web pages and the API; names that an older gunicorn does not know are passed over by it."""

from __future__ import annotations

from pathlib import Path

from gunicorn.config import Config
from gunicorn.glogging import Logger as GunicornLogger
from gunicorn.workers.base import Worker

from worker.collecting import collect_seldom
from worker.logs import formatter, set_up_logs
from worker.settings import Settings


class Logger(GunicornLogger):
    """gunicorn's own lines, written as ours are: an address that it names may hold a secret."""

    def setup(self, cfg: Config) -> None:
        """Set up as gunicorn does, then change how a line is written."""
        super().setup(cfg)  # type: ignore[no-untyped-call]
        for handler in self.error_log.handlers:
            handler.setFormatter(formatter(Settings.from_environment(), "web"))


chdir = str(Path(__file__).resolve().parent.parent)  # gunicorn looks for modules there first
wsgi_app = "service.app:create_app()"
worker_class = "service.wire.Worker"
workers = 1
limit_request_line = 8190
threads = 64  # 16 for uploads, 8 for those who wait (service.intake, service.waiters), 28 for the slow (service.pace)
timeout = 60
graceful_timeout = 5
keepalive = 5
control_socket_disable = True
accesslog = None
errorlog = "-"
logger_class = Logger
loglevel = "warning"
proc_name = "pressworthy"


def post_fork(_server: object, _worker: Worker) -> None:
    """Each process says what it does, a line a request among it."""
    set_up_logs(Settings.from_environment(), "web")


def post_worker_init(worker: Worker) -> None:
    """Kept facts are taken up to be judged again."""
    collect_seldom()
