"""Pure rules of gear: values in, values out. No framework is known here."""
