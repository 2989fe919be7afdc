"""What was done, line by line, newest first; nobody can rewrite it."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from rotas.models import AuditLine, Role
from rotas.pages.member import member_page

LINES = 100


@member_page(Role.RECEPTION, Role.MANAGER)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the lines, with a word to look for if one is given."""
    lines = AuditLine.objects.for_practice(request.user.practice).order_by("-at", "-pk")
    word = request.GET.get("word", "").strip().replace("\x00", "")[:80]
    if word:
        lines = lines.filter(sentence__icontains=word) | lines.filter(actor_name__icontains=word)
    pages = Paginator(lines, LINES)
    page = pages.get_page(request.GET.get("page"))
    return render(request, "rotas/story.html", {"page": page, "word": word})
