//! The job for a cluster: one Python file that ships in the program.

/// The job, as it is handed to Spark.
pub const SPARK_JOB: &str = include_str!("estate_job.py");
