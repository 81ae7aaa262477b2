"""How gunicorn serves the web pages and the API; names that an older gunicorn does not know are passed over by it."""

from __future__ import annotations

from pathlib import Path

from gunicorn.workers.base import Worker

from worker.collecting import collect_seldom

chdir = str(Path(__file__).resolve().parent.parent)  # gunicorn looks for modules there first
wsgi_app = "service.app:create_app()"
worker_class = "service.wire.Worker"
workers = 1
limit_request_line = 8190
threads = 32  # 16 for uploads, 8 for those who wait (service.intake, service.api.waiting), the rest for reading
timeout = 60
graceful_timeout = 5
keepalive = 5
control_socket_disable = True
accesslog = None
errorlog = "-"
loglevel = "warning"
proc_name = "pressworthy"


def post_worker_init(worker: Worker) -> None:
    """Kept facts are taken up to be judged again."""
    collect_seldom()
