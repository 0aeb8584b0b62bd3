from django.apps import AppConfig


class GarageConfig(AppConfig):
    name = "garage"
    verbose_name = "Workshop"

    def ready(self) -> None:
        from garage.site import form_words

        form_words.install()
