# Two stages: the first builds a virtual environment, the second carries only that.
FROM python:3.11-slim AS build
WORKDIR /src
RUN python -m venv /opt/evenbay
COPY pyproject.toml requirements.lock README.md LICENSE ./
COPY service ./service
RUN /opt/evenbay/bin/pip install --no-cache-dir -c requirements.lock ".[postgres,celery]"

FROM python:3.11-slim
RUN useradd --system --uid 10001 --home-dir /data --create-home evenbay
COPY --from=build /opt/evenbay /opt/evenbay
ENV PATH="/opt/evenbay/bin:$PATH" \
    PYTHONUNBUFFERED=1 \
    EVENBAY_HOST=0.0.0.0 \
    EVENBAY_PORT=8000 \
    EVENBAY_DATA_DIR=/data
USER evenbay
WORKDIR /data
VOLUME /data
EXPOSE 8000
HEALTHCHECK --interval=10s --timeout=3s --start-period=10s \
    CMD ["python", "-c", "import os, urllib.request as u; u.urlopen('http://127.0.0.1:' + os.environ['EVENBAY_PORT'] + '/health/ready', timeout=2)"]
CMD ["evenbay", "serve"]
