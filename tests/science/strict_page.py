"""Reading a page as strictly as a parser can: every element closed in order; its tables as rows of texts."""

from html.parser import HTMLParser

VOID = {"meta", "col", "br", "img", "link", "input", "hr"}
"""Elements that are never closed (WHATWG HTML, void elements)."""


class StrictPage(HTMLParser):
    """What a page holds: its headings by level, tables, paragraphs, ids, links and elements with their attributes."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.headings, self.tables, self.captions, self.paragraphs = [], [], [], []
        self.ids, self.links, self.elements, self.script = [], [], [], ""
        self._open, self._texts = [], []
        self.feed(text)
        self.close()
        assert not self._open, self._open

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.elements.append((tag, given))
        self.ids += [given["id"]] if "id" in given else []
        self.links += [given[name] for name in ("href", "src", "action", "xlink:href") if name in given]
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        if tag not in VOID:
            self._open.append(tag)
            self._texts.append("")

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()
            self._texts.pop()

    def handle_endtag(self, tag):
        assert self._open and self._open[-1] == tag, f"</{tag}> closes {self._open[-3:]}"
        self._open.pop()
        words = self._texts.pop()
        if tag in ("h1", "h2", "h3"):
            self.headings.append((int(tag[1]), words))
        elif tag in ("td", "th"):
            self.tables[-1][-1].append(words)
        elif tag == "caption":
            self.captions.append(words)
        elif tag == "p":
            self.paragraphs.append(words)
        elif tag == "script":
            self.script = words
        if self._texts:
            # a line's break parts words too
            self._texts[-1] += words

    def handle_data(self, data):
        if self._texts:
            self._texts[-1] += data
