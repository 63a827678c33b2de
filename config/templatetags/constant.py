"""``{% constant %}…{% endconstant %}``: a part of a page that is the same for everybody.

It is drawn once a process and language. It is drawn without the page's variables, so nothing of a
visitor, a request or a nonce can get into it; a variable written inside is refused at once.
"""

from __future__ import annotations

from django import template
from django.template.base import NodeList, Parser, Token, VariableNode
from django.utils.translation import get_language

register = template.Library()


class ConstantNode(template.Node):
    """The part, and how it came out in each language. It holds no blocks to look for."""

    child_nodelists = ()

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist
        self.drawn: dict[str | None, str] = {}

    def render(self, context: template.Context) -> str:
        language = get_language()
        if language not in self.drawn:
            self.drawn[language] = self._drawn(context)
        return self.drawn[language]

    def _drawn(self, context: template.Context) -> str:
        bare = template.Context()
        assert context.template is not None
        with bare.bind_template(context.template):
            return self.nodelist.render(bare)


@register.tag
def constant(parser: Parser, token: Token) -> ConstantNode:
    nodelist = parser.parse(("endconstant",))
    parser.delete_first_token()
    if nodelist.get_nodes_by_type(VariableNode):
        raise template.TemplateSyntaxError("a variable inside {% constant %}: it has none")
    return ConstantNode(nodelist)
