FROM python:3.11-slim
RUN useradd --system --create-home --uid 10001 pressworthy && install -d -o pressworthy /data
WORKDIR /srv/pressworthy
COPY pyproject.toml README.md LICENSE ./
COPY service service
COPY worker worker
RUN pip install --no-cache-dir .
USER pressworthy
ENV PRESSWORTHY_DATA=/data
VOLUME /data
