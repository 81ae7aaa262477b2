"""How gunicorn serves the web pages and the API; names that an older gunicorn does not know are passed over by it."""

from __future__ import annotations

from pathlib import Path

chdir = str(Path(__file__).resolve().parent.parent)  # gunicorn looks for modules there first
wsgi_app = "service.app:create_app()"
worker_class = "gthread"
workers = 1
threads = 16
timeout = 60
graceful_timeout = 5
keepalive = 5
control_socket_disable = True
accesslog = None
errorlog = "-"
loglevel = "warning"
proc_name = "pressworthy"
