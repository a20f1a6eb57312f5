"""The drawings of the screens: pictures from frozen values, in braille dots or plain ASCII."""
