"""Truth study: service calls simulated by a second, independent model, and how well they are diagnosed.

The generator (every module but ``evidence``, ``study``, ``checklist``, ``costs`` and ``report``) shares no
physics with ``holdcold``: properties are tabulated from CoolProp, exchangers are marched in segments, void
fraction is Rouhani and Axelsson's, the valve a force balance, the capillary an adiabatic integral, the
compressor a map of its own. It knows the ids of faults, places, sightings and checks, and the classes of
instruments; no chance, no severity and no table of the diagnosis.

    python -m benchmarks.truth.generate --help     make calls
    python -m benchmarks.truth.study --help        diagnose them and report
"""
