"""Fragments of the look that need a little logic."""

from django import template

register = template.Library()
