"""The application as a WSGI server loads it."""

from service.app import create_app
from service.collector import settle
from service.settings import from_environment

app = create_app(from_environment())
settle()
