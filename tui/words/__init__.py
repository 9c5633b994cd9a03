"""The words of the screens, without a widget: keys, models, sentences."""
