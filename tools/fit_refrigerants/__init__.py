"""Makes the refrigerant data files of ``holdcold.refrigerants`` from reference equations of state.

Needs CoolProp, numpy and scipy. docs/refrigerants.md tells the method and how to add a refrigerant.
"""
