"""Sources of a code report, each printed once and named by its number beside what rests on it."""

from dataclasses import dataclass, field


@dataclass(slots=True)
class Sources:
    """Texts in the order they are first named."""

    texts: list[str] = field(default_factory=list)

    def cite(self, text: str) -> str:
        """Give how a source is named, and remember it.

        Example:
            >>> sources = Sources()
            >>> sources.cite("Statics."), sources.cite("Print."), sources.cite("Statics.")
            ('source 1', 'source 2', 'source 1')
        """
        if text not in self.texts:
            self.texts.append(text)
        return f"source {self.texts.index(text) + 1}"
