"""The shape of each request body: strict marshmallow schemas that give domain records."""
