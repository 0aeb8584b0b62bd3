from django.apps import AppConfig


class GarageConfig(AppConfig):
    name = "garage"
    verbose_name = "Workshop"
