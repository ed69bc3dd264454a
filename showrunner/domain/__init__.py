"""What things are: frozen values of the standard library only, each field documented beneath it.

Units are part of the names: minutes are whole minutes, `_cm` centimetres, `_kg` kilograms,
`_weeks` whole weeks. Days are local calendar days in the zone of the house rules or slot rule.
"""
