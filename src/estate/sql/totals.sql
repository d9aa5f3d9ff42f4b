-- Sums over all sites.
SELECT sum(CASE WHEN status = 'ok' THEN 1 ELSE 0 END) AS analysed,
       sum(CASE WHEN status = 'failed' THEN 1 ELSE 0 END) AS failed,
       sum(energy_import_kwh) AS energy_import_kwh,
       sum(energy_export_kwh) AS energy_export_kwh,
       sum(carbon_kg) AS carbon_kg,
       sum(dangers) AS dangers,
       sum(warnings) AS warnings,
       sum(overloaded_phases) AS overloaded_phases
FROM sites
