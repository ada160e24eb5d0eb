"""Everything the environment decides, read once into one frozen record."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from ipaddress import ip_network
from pathlib import Path

from service.usecases.origins import origin_of

BROKERS = ("redis://", "rediss://", "amqp://", "amqps://")
LOG_LEVELS = ("CRITICAL", "ERROR", "WARNING", "INFO", "DEBUG")
LOG_FORMATS = ("json", "text")
TIMING = ("keys", "on", "off")
# Any of these, as the OpenTelemetry specification names them, asks for traces too.
OTLP = ("OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT")


@dataclass(frozen=True, slots=True)
class OidcSettings:
    """Whose bearer tokens (JWT) are taken besides keys.

    Attributes:
        issuer: As it stands in the tokens.
        audience: This service, as it stands in the tokens.
        jwks: Address or file of the issuer's public keys, a JSON Web Key Set.
        dealer_claim: Member of the token that names the dealer.
    """

    issuer: str
    audience: str
    jwks: str
    dealer_claim: str = "dealer"


@dataclass(frozen=True, slots=True)
class Settings:
    """How one instance of the service runs.

    Attributes:
        database_url: SQLAlchemy URL; an SQLite file by default.
        max_body_bytes: Largest request body that is read. [byte]
        max_nesting: Deepest JSON nesting that is read.
        log_level: Name of a level of the logging module.
        host, port: Where the web server listens.
        lease_seconds: After which the work on an idempotency key counts as lost. [s]
        rate_per_minute: Most requests of one key in a minute; 0 counts none.
        rate_store: Where they are counted: in each process, or in a store they share.
        oidc: Whose tokens are taken besides keys, None for nobody's.
        workers, threads: Worker processes, and threads in each.
        log_format: "json", one object to a line, or "text".
        metrics: Whether /metrics is served.
        server_timing: Who is told how long the stages of an answer took: "keys" for callers with
            a key of the dealer's own, "on" for everybody, "off" for nobody.
        cors_origins: Origins whose pages may call, such as ("https://shop.example",).
        traces: Whether OpenTelemetry spans are sent.
        otlp_endpoint: Where to, "" to leave it to the variables of OpenTelemetry.
        deliver: Whether the web server sends events too.
        event_days: How long events are fed; what was never taken stays four times as long. [day]
        webhook_networks: Networks that events may be sent to although they are not public.
        cut_seconds: Longest search for a cheaper cut of one material; beyond it the best plan is
            given with its gap. [s]
        work: Whether a worker of re-pricing runs stands beside the web server.
        run_lease_seconds: After which a piece of a run that nobody finished is done again. [s]
        broker_url: Of Redis or an AMQP broker, through which workers are told of runs; "" for none.
    """

    database_url: str
    max_body_bytes: int = 1_000_000
    max_nesting: int = 32
    log_level: str = "INFO"
    host: str = "127.0.0.1"
    port: int = 8000
    lease_seconds: int = 60
    rate_per_minute: int = 0
    rate_store: str = "memory://"
    oidc: "OidcSettings | None" = None
    workers: int = 2
    threads: int = 4
    log_format: str = "json"
    metrics: bool = True
    server_timing: str = "keys"
    cors_origins: tuple[str, ...] = ()
    traces: bool = False
    otlp_endpoint: str = ""
    deliver: bool = True
    event_days: int = 90
    webhook_networks: tuple[str, ...] = ()
    cut_seconds: int = 3
    work: bool = True
    run_lease_seconds: int = 120
    broker_url: str = ""


def sqlite_url(data_dir: Path) -> str:
    """Give the URL of the embedded database in a directory."""
    return f"sqlite:///{data_dir / 'evenbay.sqlite3'}"


def from_environment(environment: Mapping[str, str] | None = None) -> Settings:
    """Read the settings; every variable starts with EVENBAY_ and has a default.

    Raises:
        ValueError: A variable does not hold what its name promises.

    Example:
        >>> from_environment({"EVENBAY_DATA_DIR": "/srv/evenbay"}).database_url
        'sqlite:////srv/evenbay/evenbay.sqlite3'
    """
    env = os.environ if environment is None else environment
    return Settings(
        database_url=env.get("EVENBAY_DATABASE_URL")
        or sqlite_url(Path(env.get("EVENBAY_DATA_DIR") or "var")),
        max_body_bytes=_whole(env, "EVENBAY_MAX_BODY_BYTES", 1_000_000),
        max_nesting=_whole(env, "EVENBAY_MAX_NESTING", 32),
        log_level=_level(env.get("EVENBAY_LOG_LEVEL") or "INFO"),
        host=env.get("EVENBAY_HOST") or "127.0.0.1",
        port=_whole(env, "EVENBAY_PORT", 8000),
        lease_seconds=_whole(env, "EVENBAY_LEASE_SECONDS", 60),
        rate_per_minute=_whole(env, "EVENBAY_RATE_PER_MINUTE", 600),
        rate_store=env.get("EVENBAY_RATE_STORE") or "memory://",
        oidc=_oidc(env),
        workers=_whole(env, "EVENBAY_WORKERS", min(4, os.cpu_count() or 1)),
        threads=_whole(env, "EVENBAY_THREADS", 4),
        log_format=_one_of(env, "EVENBAY_LOG_FORMAT", LOG_FORMATS),
        metrics=_one_of(env, "EVENBAY_METRICS", ("on", "off")) == "on",
        server_timing=_one_of(env, "EVENBAY_SERVER_TIMING", TIMING),
        cors_origins=_origins(env.get("EVENBAY_CORS_ORIGINS") or ""),
        traces=any(env.get(name) for name in ("EVENBAY_OTLP_ENDPOINT", *OTLP)),
        otlp_endpoint=env.get("EVENBAY_OTLP_ENDPOINT") or "",
        deliver=_one_of(env, "EVENBAY_DELIVER", ("on", "off")) == "on",
        event_days=_whole(env, "EVENBAY_EVENT_DAYS", 90),
        webhook_networks=_networks(env.get("EVENBAY_WEBHOOK_NETWORKS") or ""),
        cut_seconds=_whole(env, "EVENBAY_CUT_SECONDS", 3),
        work=_one_of(env, "EVENBAY_WORK", ("on", "off")) == "on",
        run_lease_seconds=_whole(env, "EVENBAY_RUN_LEASE_SECONDS", 120),
        broker_url=_broker(env.get("EVENBAY_BROKER_URL") or ""),
    )


def _whole(env: Mapping[str, str], name: str, default: int) -> int:
    text = env.get(name) or str(default)
    if not (text.isascii() and text.isdigit()) or int(text) < 1:
        raise ValueError(f"{name} is {text!r}; it takes a whole number from 1")
    return int(text)


def _oidc(env: Mapping[str, str]) -> OidcSettings | None:
    names = ("EVENBAY_OIDC_ISSUER", "EVENBAY_OIDC_AUDIENCE", "EVENBAY_OIDC_JWKS")
    said = [env.get(name) or "" for name in names]
    if not any(said):
        return None
    if not all(said):
        missing = ", ".join(name for name, value in zip(names, said, strict=True) if not value)
        raise ValueError(f"{missing} is not set; tokens are taken only with all three")
    issuer, audience, jwks = said
    claim = env.get("EVENBAY_OIDC_DEALER_CLAIM") or "dealer"
    return OidcSettings(issuer, audience, jwks, claim)


def _level(name: str) -> str:
    if name.upper() not in LOG_LEVELS:
        raise ValueError(f"EVENBAY_LOG_LEVEL is {name!r}; it takes one of {', '.join(LOG_LEVELS)}")
    return name.upper()


def _one_of(env: Mapping[str, str], name: str, words: Sequence[str]) -> str:
    """Read a word; the first is the default."""
    word = (env.get(name) or words[0]).lower()
    if word not in words:
        raise ValueError(f"{name} is {word!r}; it takes one of {', '.join(words)}")
    return word


def _origins(text: str) -> tuple[str, ...]:
    """Read origins as a browser sends them: scheme, host, port, no path."""
    written = text.replace(",", " ").split()
    try:
        return tuple(one if one == "*" else origin_of(one) for one in written)
    except ValueError as error:
        raise ValueError(
            f"EVENBAY_CORS_ORIGINS: {error}; several take commas between, and * lets every one in"
        ) from None


def _broker(url: str) -> str:
    if url and not url.startswith(BROKERS):
        raise ValueError(
            "EVENBAY_BROKER_URL takes the address of a broker that begins with one of "
            + ", ".join(BROKERS)
        )
    return url


def _networks(text: str) -> tuple[str, ...]:
    """Read networks such as 10.1.0.0/16, separated by commas."""
    networks = tuple(text.replace(",", " ").split())
    for network in networks:
        try:
            ip_network(network)
        except ValueError:
            raise ValueError(
                f"EVENBAY_WEBHOOK_NETWORKS holds {network!r}; it takes networks such as "
                "10.1.0.0/16, separated by commas"
            ) from None
    return networks
