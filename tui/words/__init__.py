"""What the screens say, without a widget: keys, models, sentences."""
