"""The parts that commands share: options and their types, the terminal, troubles told, the program put together."""
