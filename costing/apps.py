from django.apps import AppConfig


class CostingConfig(AppConfig):
    name = "costing"
