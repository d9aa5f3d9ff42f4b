-- The highest demand of all sites at one time [kW]: it is at least kw, which was measured, and at most high_kw where no
-- site drew more than its own maximum while it has no readings.
WITH period AS (
  SELECT CASE WHEN min(demand_window_min) = max(demand_window_min) THEN max(demand_window_min) ELSE 60.0 END AS minutes,
         min(demand_window_min) = max(demand_window_min) AS is_common
  FROM sites
  WHERE demand_window_min IS NOT NULL
),
known AS (
  SELECT site, max_demand_kw, demand_window_min, supply_meters
  FROM sites
  WHERE max_demand_kw IS NOT NULL AND demand_window_min IS NOT NULL AND supply_meters IS NOT NULL
),
of_site AS (
  SELECT d.site,
         CASE WHEN p.is_common THEN d.start ELSE date_trunc('hour', d.start) END AS period_start,
         sum(d.kw) * max(k.demand_window_min) / max(p.minutes) AS kw,
         max(k.max_demand_kw) AS max_kw
  FROM demand d
  JOIN known k ON k.site = d.site
  CROSS JOIN period p
  WHERE d.of_supply AND (p.is_common OR mod(extract(minute FROM d.start), k.demand_window_min) = 0)
  GROUP BY d.site, CASE WHEN p.is_common THEN d.start ELSE date_trunc('hour', d.start) END
  HAVING count(*) = max(p.minutes / k.demand_window_min * k.supply_meters)
),
coincident AS (
  SELECT sum(kw) AS kw,
         sum(kw) + ((SELECT sum(max_demand_kw) FROM known) - sum(max_kw)) AS high_kw
  FROM of_site
  GROUP BY period_start
)
SELECT max(kw) AS kw, max(high_kw) AS high_kw, (SELECT sum(max_demand_kw) FROM known) AS sum_of_maxima_kw
FROM coincident
